"""Production without a container engine: the commands of docker-compose.yml, run as they stand.

Only what containers would provide is replaced: host names, the published port and /tmp.
"""

import secrets
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import psycopg
import pytest

from shop.management import servers
from tests.compose.compose_file import ROOT, Machine, services
from tests.compose.plain_browser import Browser
from tests.smtp import Sink, mail_server

HOST = "shop.example"
PASSWORD = "only for this test"
GIVEN = {
    "SECRET_KEY": secrets.token_urlsafe(50),
    "POSTGRES_PASSWORD": "anything",
    "SHOP_URL": f"https://{HOST}",
    "ALLOWED_HOSTS": HOST,
    "SHOP_NAME": "Quill Creek Tow & Coach",
    "SHOP_TIME_ZONE": "America/Denver",
    "SHOP_POSTAL_ADDRESS": "18 Quill Creek Road, Larkfield, CO 80000",
    "SHOP_PHONE": "+1 303 555 0142",
    "SHOP_EMAIL": "desk@quillcreek.example",
    "SMTP_HOST": "localhost",
    "SMTP_ENCRYPTION": "none",
    # All day, and every second: the test must not depend on when it runs, nor wait.
    "MAIL_HOURS_FROM": "00:00",
    "MAIL_HOURS_UNTIL": "00:00",
    "DUE_TICK_SECONDS": "1",
    "DELIVER_SECONDS": "1",
}
# Somebody at the desk, and a customer with gear on one car; printed is the customer's number.
PEOPLE = f"""
import json, django
django.setup()
from shop import clock
from shop.people import staff
from shop.people.models import User
from shop.sheets import load_sheet
from tests.factories.people import CustomerFactory, EmailFactory
from tests.factories.reminders import ReverifyRuleFactory
from vehicles.records import PULLPIN
staff.add_user(username="wren", email="wren@quillcreek.example", role=User.Role.DESK,
               password={PASSWORD!r}, actor=PULLPIN)
ReverifyRuleFactory()
customer = CustomerFactory()
EmailFactory(customer=customer, address="ansel@mail.example")
sheet = json.load(open("shop/demo/sheets/merle.json"))
load_sheet(sheet, actor=PULLPIN, today=clock.today(), customer=customer)
print(customer.pk)
"""


@pytest.fixture
def mails() -> Iterator[tuple[Sink, int]]:
    with mail_server() as server:
        yield server


@pytest.fixture
def port() -> int:
    return servers.free_port()


@pytest.fixture
def machine(
    postgresql_url: str, redis_url: str, mails: tuple[Sink, int], port: int, tmp_path: Path
) -> Iterator[Machine]:
    name = f"compose_{secrets.token_hex(4)}"
    with psycopg.connect(postgresql_url, autocommit=True) as connection:
        connection.execute(f"CREATE DATABASE {name}".encode())
    elsewhere = {
        "postgres://pullpin:anything@db:5432/pullpin": postgresql_url.replace(
            "/postgres", f"/{name}"
        ),
        "redis://redis:6379/0": redis_url,
        "0.0.0.0:8000": f"127.0.0.1:{port}",
        "/tmp/": f"{tmp_path}/",
    }
    given = {**GIVEN, "SMTP_PORT": str(mails[1])}
    machine = Machine(services(given), elsewhere, tmp_path)
    try:
        yield machine
    finally:
        machine.stop()


def test_the_file_demands_what_production_cannot_guess() -> None:
    for name in ("SECRET_KEY", "POSTGRES_PASSWORD", "SHOP_URL", "ALLOWED_HOSTS", "SMTP_HOST"):
        with pytest.raises(KeyError, match=name):
            services({key: value for key, value in GIVEN.items() if key != name})


def test_there_is_one_beat_and_everything_waits_for_the_migration() -> None:
    found = services(GIVEN)

    assert sorted(found) == ["beat", "db", "migrate", "redis", "web", "worker"]
    assert [name for name, it in found.items() if " beat " in it.get("command", "")] == ["beat"]
    assert "replicas" not in str(found["beat"])
    for name in ("web", "worker", "beat"):
        wanted = found[name]["depends_on"]["migrate"]["condition"]
        assert wanted == "service_completed_successfully"


def test_sign_in_add_a_vehicle_and_the_mail_arrives(
    machine: Machine, mails: tuple[Sink, int], port: int
) -> None:
    assert machine.start("migrate").wait(120) == 0, machine.said()
    environment = machine.environment("web") | {"DJANGO_SETTINGS_MODULE": "shop.settings"}
    # The image holds the static files already; here they are collected first.
    run([sys.executable, "manage.py", "collectstatic", "--noinput", "-v0"], environment)
    customer = run([sys.executable, "-c", PEOPLE], environment).strip()
    machine.start("web")
    servers.wait_for_port(port)
    sink = mails[0]
    browser = Browser(port, HOST)

    status, where = browser.send("/accounts/login/", login="wren", password=PASSWORD)
    assert (status, where) == (302, "/")
    page = f"/vehicles/new/?customer={customer}"
    status, where = browser.send(page, make="Corvane", model="Tern", year="2022", plate="QC 4711")
    assert status == 302, where
    assert "Corvane" in browser.ask("GET", where)[2]

    machine.start("worker")
    machine.start("beat")
    until(lambda: bool(sink.messages), machine)
    (message,) = sink.messages
    assert message["To"].addresses[0].addr_spec == "ansel@mail.example"
    text = message.get_body(("plain",)).get_content()
    assert "2022 Corvane Tern (QC 4711)" in text
    assert f"https://{HOST}/stop/" in text
    time.sleep(5)  # Four more ticks and deliveries: nothing comes twice.
    assert len(sink.messages) == 1
    assert machine.stop() == {"migrate": 0, "web": 0, "worker": 0, "beat": 0}, machine.said()


def run(command: list[str], environment: dict[str, str]) -> str:
    done = subprocess.run(
        command, cwd=ROOT, env=environment, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


def until(there: Callable[[], bool], machine: Machine, seconds: float = 60) -> None:
    end = time.monotonic() + seconds
    while not there():
        assert time.monotonic() < end, machine.said()
        time.sleep(0.2)
