"""The first command a newcomer types, as typed: in processes, twice, then served and stopped."""

import os
import re
import signal
import socket
import subprocess
import sys
import urllib.request
from pathlib import Path

import pytest

from shop.management import servers

ROOT = Path(__file__).resolve().parents[2]
DEMO = [sys.executable, "manage.py", "demo"]


@pytest.fixture(scope="module")
def environment(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    var = tmp_path_factory.mktemp("var")
    return {"PATH": os.environ["PATH"], "PULLPIN_VAR": str(var)}


def demo(environment: dict[str, str]) -> str:
    done = subprocess.run(
        [*DEMO, "--no-serve"],
        cwd=ROOT,
        env=environment,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


def mails(environment: dict[str, str]) -> int:
    return len(list((Path(environment["PULLPIN_VAR"]) / "mailbox" / "new").iterdir()))


@pytest.fixture(scope="module")
def first(environment: dict[str, str]) -> str:
    """Return what the first run says; the tests below go on from there."""
    return demo(environment)


def test_the_first_run_tells_what_happened(first: str, environment: dict[str, str]) -> None:
    due, digests = map(
        int, re.search(r"(\d+) due, \d+ of them said in (\d+) digests", first).groups()
    )
    assert due >= digests > 0
    assert f"{digests} sent" in first
    assert mails(environment) == digests
    assert int(re.search(r"To be proven again: (\d+)", first).group(1)) > 0
    assert re.findall(r"Sign in as \w+ / \S+ \((\w+)\)", first) == ["desk", "technician", "owner"]
    assert "http://localhost:8000" in first


def test_the_second_run_says_that_nothing_new_was_due(
    first: str, environment: dict[str, str]
) -> None:
    before = mails(environment)

    second = demo(environment)

    assert "Nothing new was due." in second
    assert "Loaded" in first
    assert "Loaded" not in second
    assert mails(environment) == before


def test_it_serves_beside_a_busy_port_and_stops_cleanly(
    first: str, environment: dict[str, str]
) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        busy = taken.getsockname()[1]
        served = subprocess.Popen(
            [*DEMO, "--port", str(busy)],
            cwd=ROOT,
            env=environment,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
        )
        said = []
        for line in served.stdout:
            said.append(line)
            if line.startswith("Pullpin is at"):
                break
        port = int(re.search(r":(\d+) until Ctrl-C", said[-1]).group(1))
        servers.wait_for_port(port)

    with urllib.request.urlopen(f"http://127.0.0.1:{port}/accounts/login/") as answer:
        page = answer.read().decode()
    style = re.search(r'href="(/static/shop/[^"]+\.css)"', page).group(1)
    with urllib.request.urlopen(f"http://127.0.0.1:{port}{style}") as answer:
        assert answer.headers["Content-Type"].startswith("text/css")
    served.send_signal(signal.SIGINT)
    rest = served.communicate(timeout=30)[0]

    assert said[0] == f"Port {busy} is taken, using {port}.\n"
    assert served.returncode == 0, rest
    assert "Traceback" not in rest
    assert servers.free_port(port) == port


@pytest.mark.parametrize("name", ["PULLPIN_MODE", "PULLPIN_MAIL"])
def test_it_refuses_a_set_up_that_is_not_for_showing(name: str, tmp_path: Path) -> None:
    environment = {
        "PATH": os.environ["PATH"],
        "PULLPIN_VAR": str(tmp_path),
        "SECRET_KEY": "0123456789" * 5,
        "ALLOWED_HOSTS": "shop.example",
        "SHOP_URL": "https://shop.example",
        "SMTP_HOST": "mail.shop.example",
        name: {"PULLPIN_MODE": "production", "PULLPIN_MAIL": "smtp"}[name],
    }

    done = subprocess.run(
        DEMO, cwd=ROOT, env=environment, capture_output=True, text=True, check=False
    )

    assert done.returncode == 1
    assert "The demo is for one machine" in done.stderr
    assert not (tmp_path / "pullpin.sqlite3").exists()


def test_it_leaves_a_shop_of_its_own_alone(tmp_path: Path) -> None:
    environment = {
        "PATH": os.environ["PATH"],
        "PULLPIN_VAR": str(tmp_path),
        "DJANGO_SETTINGS_MODULE": "shop.settings",
    }
    code = (
        "import django; django.setup(); from django.core.management import call_command as c; "
        "c('migrate', verbosity=0); from shop.people.models import Customer; "
        "Customer.objects.create(name='Wren')"
    )
    subprocess.run([sys.executable, "-c", code], cwd=ROOT, env=environment, check=True)

    done = subprocess.run(
        [*DEMO, "--no-serve"],
        cwd=ROOT,
        env=environment,
        capture_output=True,
        text=True,
        check=False,
    )

    assert done.returncode == 1
    assert "holds a shop of its own, which the demo leaves alone" in done.stderr
