"""The desk's pages in a real browser: axe, narrow screens, and what changes in place."""

import os
from collections.abc import Iterator
from datetime import date
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, ConsoleMessage, Page, expect, sync_playwright

from installs.models import Reverification
from shop.outbox.models import OutgoingMail
from shop.reminders.services import refresh_all
from tests.factories.desk import ACTOR, TODAY, a_crestline, okafors
from tests.factories.people import UserFactory
from tests.factories.reminders import ReverifyRuleFactory, RuleFactory
from vehicles.models import Vehicle
from vehicles.services import add_vehicle, start_combination

# All but the menu of the head, which lies over the page while it is open.
OPEN_ALL = "document.querySelectorAll('main details').forEach((each) => (each.open = true))"

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture(scope="module")
def browser(chromium_path: str) -> Iterator[Browser]:
    # Playwright runs an event loop in this thread, in which Django refuses the database.
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "1"
    with sync_playwright() as playwright:
        yield playwright.chromium.launch(executable_path=chromium_path, args=["--no-sandbox"])
    del os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"]


@pytest.fixture
def towed() -> Vehicle:
    """A vehicle with gear in trouble, behind a motorhome, with something due."""
    customer = okafors(note="Call in the morning.")
    vehicle = a_crestline(customer=customer)
    motorhome = add_vehicle(
        actor=ACTOR, kind="motorhome", make="Tamarack", model="34", year=2016, plate="TM 340"
    )
    start_combination(motorhome=motorhome, towed=vehicle, since=date(2025, 6, 1), actor=ACTOR)
    RuleFactory(name="Brake unit, yearly look", kind=vehicle.fittings.first().component.kind)
    ReverifyRuleFactory(name="Prove it again")
    refresh_all(today=TODAY)
    OutgoingMail.objects.create(
        key="one",
        kind="digest",
        customer=customer,
        to_address="ines@okafor.example",
        subject="Brake unit, yearly look",
        text="Dear Ines,\nit is due.",
        html="<!doctype html><html lang=en><title>A letter</title><p>Dear Ines</p></html>",
        message_id="<one@quillcreek.example>",
        state="failed",
        last_error="550 no such mailbox",
        not_before="2026-11-24T16:00Z",
    )
    return vehicle


def open_page(browser: Browser, live_server: Any, client: Any, **options: Any) -> Page:
    """A page of somebody at the desk, that fails on anything the content policy refuses."""
    client.force_login(UserFactory(role="owner", first_name="Mara"))
    context = browser.new_context(**options)
    context.add_cookies(
        [{"name": "session", "value": client.cookies["session"].value, "url": live_server.url}]
    )
    page = context.new_page()

    def refuse(message: ConsoleMessage) -> None:
        assert "Content Security Policy" not in message.text, message.text

    page.on("console", refuse)
    return page


def addresses(vehicle: Vehicle) -> list[str]:
    mail = OutgoingMail.objects.get()
    item = vehicle.due_items.first()
    motorhome = vehicle.towed_by.get().motorhome
    return [
        "/",
        "/find/?q=okafor&all=1",
        "/find/?q=nothing-like-it",
        "/customers/",
        f"/customers/{vehicle.ownerships.get().customer_id}/",
        "/vehicles/",
        f"/vehicles/{vehicle.pk}/",
        f"/vehicles/{motorhome.pk}/",
        f"/vehicles/{vehicle.pk}/what-if/?fuses=F08",
        f"/combinations/{vehicle.towed_by.get().pk}/",
        f"/combinations/{vehicle.towed_by.get().pk}/hitched/",
        "/workbench/",
        f"/workbench/?fitting={vehicle.fittings.first().pk}&{A_WIRE}",
        "/due/",
        f"/due/{item.pk}/",
        "/reverifications/",
        "/mails/",
        f"/mails/{mail.pk}/",
        "/log/",
        "/ranges/",
        f"/ranges/{vehicle.model_range_id}/",
        "/components/",
        f"/components/{vehicle.fittings.first().component_id}/",
        "/sheets/import/",
    ]


A_WIRE = (
    "try=wire&wire-standard=awg&wire-size=14&wire-length_0=10&wire-length_1=ft&wire-load_0=10"
    "&wire-load_1=A&wire-back=wire&wire-use=drop_share_critical"
)


@pytest.mark.parametrize(("width", "scheme"), [(1280, "dark"), (390, "light")])
def test_axe_finds_nothing_and_no_page_runs_over(
    browser: Browser, live_server: Any, client: Any, towed: Vehicle, width: int, scheme: str
) -> None:
    page = open_page(
        browser,
        live_server,
        client,
        viewport={"width": width, "height": 900},
        color_scheme=scheme,
    )
    faults = []
    for address in addresses(towed):
        response = page.goto(live_server.url + address)
        assert response.status == 200, address
        page.evaluate(OPEN_ALL)
        for narrow in (width, 820, 320):
            page.set_viewport_size({"width": narrow, "height": 900})
            over = page.evaluate("document.documentElement.scrollWidth - innerWidth")
            if over > 0:
                faults.append(f"{address} runs {over} px over at {narrow} px")
        page.set_viewport_size({"width": width, "height": 900})
        found = Axe().run(page, options={"rules": {"target-size": {"enabled": True}}})
        if found.response["violations"]:
            faults.append(f"{address}\n{found.generate_report()}")
    page.context.close()
    assert not faults, "\n".join(faults)


def test_the_feed_sheet_changes_in_place(
    browser: Browser, live_server: Any, client: Any, towed: Vehicle
) -> None:
    page = open_page(browser, live_server, client)
    page.goto(f"{live_server.url}/vehicles/{towed.pk}/")
    sheet = page.locator("#feed-sheet")
    expect(sheet.locator("title").first).to_have_text("Feeds in the tow state")
    page.evaluate("window.stayed = true")
    sheet.get_by_role("link", name="Drive").click()
    expect(sheet.locator("title").first).to_have_text("Feeds in the drive state")
    expect(sheet.get_by_role("link", name="Drive")).to_have_attribute("aria-current", "true")
    assert page.evaluate("window.stayed")
    page.context.close()


@pytest.mark.parametrize("scripts", [True, False])
def test_a_what_if_works_with_scripts_and_without(
    browser: Browser, live_server: Any, client: Any, towed: Vehicle, scripts: bool
) -> None:
    page = open_page(browser, live_server, client, java_script_enabled=scripts)
    page.goto(f"{live_server.url}/vehicles/{towed.pk}/what-if/")
    page.get_by_role("checkbox", name="F08").check()
    if not scripts:
        page.get_by_role("button", name="See the difference").click()
    result = page.locator("#what-if-result")
    expect(result).to_contain_text("Brake unit, supply: ON in tow instead of OFF")
    assert Reverification.objects.count() == 1
    page.context.close()


@pytest.mark.parametrize("scripts", [True, False])
def test_the_box_finds_with_scripts_and_without(
    browser: Browser, live_server: Any, client: Any, towed: Vehicle, scripts: bool
) -> None:
    page = open_page(browser, live_server, client, java_script_enabled=scripts)
    page.goto(f"{live_server.url}/find/")
    page.get_by_role("searchbox").fill("crest")
    if not scripts:
        page.get_by_role("searchbox").press("Enter")
    expect(page.locator("#found")).to_contain_text("2019 Alder Crestline")
    page.context.close()
