"""Every part in a real browser: axe, narrow screens, the policy, and the small scripts."""

import os
from collections.abc import Iterator
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import (
    Browser,
    BrowserContext,
    ConsoleMessage,
    Page,
    Request,
    sync_playwright,
)

from tests.factories.people import UserFactory

pytestmark = [
    pytest.mark.browser,
    pytest.mark.urls("tests.browser.face_page"),
    pytest.mark.django_db(transaction=True),
]


@pytest.fixture(scope="module")
def browser(chromium_path: str) -> Iterator[Browser]:
    # Playwright runs an event loop in this thread, in which Django refuses the database.
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "1"
    with sync_playwright() as playwright:
        yield playwright.chromium.launch(executable_path=chromium_path, args=["--no-sandbox"])
    del os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"]


def opened(browser: Browser, address: str, **options: Any) -> tuple[BrowserContext, Page]:
    """A page in a context of its own, that fails on anything the content policy refuses."""
    context = browser.new_context(**options)
    page = context.new_page()

    def refuse(message: ConsoleMessage) -> None:
        assert "Content Security Policy" not in message.text, message.text

    page.on("console", refuse)
    page.goto(address)
    return context, page


@pytest.fixture
def page(browser: Browser, live_server: Any, client: Any) -> Iterator[Page]:
    """Every part, seen by an owner who is signed in."""
    client.force_login(UserFactory(role="owner"))
    context, page = opened(browser, live_server.url + "/elsewhere/")
    context.add_cookies(
        [{"name": "session", "value": client.cookies["session"].value, "url": live_server.url}]
    )
    page.goto(live_server.url + "/desk/")
    yield page
    context.close()


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [1280, 390])
@pytest.mark.parametrize("place", ["/desk/", "/accounts/login/"])
def test_axe_finds_nothing(
    browser: Browser, live_server: Any, place: str, width: int, scheme: str
) -> None:
    """axe with its rule on target sizes, which is off unless asked for; everything opened."""
    context, page = opened(
        browser,
        live_server.url + place,
        viewport={"width": width, "height": 900},
        color_scheme=scheme,
    )
    page.evaluate("document.querySelectorAll('details').forEach((each) => (each.open = true))")
    found = Axe().run(page, options={"rules": {"target-size": {"enabled": True}}})
    context.close()
    assert not found.response["violations"], found.generate_report()


@pytest.mark.parametrize("width", [320, 390, 820, 1280])
def test_no_page_is_wider_than_its_screen(browser: Browser, live_server: Any, width: int) -> None:
    """WCAG 2.2, 1.4.10 (from memory): at 320 px only tables and drawings scroll sideways."""
    context, page = opened(
        browser, live_server.url + "/desk/", viewport={"width": width, "height": 900}
    )
    assert page.evaluate("document.documentElement.scrollWidth") == width
    context.close()


def test_buttons_and_fields_are_44_px_high(page: Page) -> None:
    heights = page.evaluate(
        """[...document.querySelectorAll(".do, .doors a, .find, .field :is(input, select):not("
             + "[type=checkbox], [type=radio], [type=hidden]), .choices label, .check label")]
           .filter((each) => each.offsetParent)
           .map((each) => each.getBoundingClientRect().height)"""
    )
    assert len(heights) > 20
    assert min(heights) >= 44


def test_slash_goes_to_the_search_box_but_not_out_of_a_field(page: Page) -> None:
    page.locator("#id_note").focus()
    page.keyboard.type("a/b")
    assert page.locator("#id_note").input_value() == "a/b"
    page.locator(".title h1").click()
    page.keyboard.press("/")
    page.keyboard.type("okafor")
    assert page.locator("#find").input_value() == "okafor"


def test_the_first_key_leads_past_the_head(browser: Browser, live_server: Any) -> None:
    context, page = opened(browser, live_server.url + "/no/such/page/")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.className") == "skip"
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.id") == "main"
    context.close()


def test_the_list_of_faults_has_the_focus(page: Page) -> None:
    assert page.evaluate("document.activeElement.className") == "faults"


def test_the_menu_closes_with_escape_and_gives_the_focus_back(page: Page) -> None:
    page.locator(".me summary").click()
    assert page.locator(".me").get_by_text("Sign out").is_visible()
    page.keyboard.press("Tab")
    page.keyboard.press("Escape")
    assert not page.locator(".me").get_by_text("Sign out").is_visible()
    assert page.evaluate("document.activeElement.tagName") == "SUMMARY"


def test_the_theme_changes_at_once_and_stays(page: Page) -> None:
    page.locator(".me summary").click()
    with page.expect_response("**/theme/"):
        page.locator("button[value=dark]").click()
    ground = "getComputedStyle(document.body).backgroundColor"
    assert page.evaluate(ground) == "rgb(20, 24, 27)"
    page.reload()
    assert page.evaluate(ground) == "rgb(20, 24, 27)"


def test_the_theme_needs_no_script(browser: Browser, live_server: Any) -> None:
    context, page = opened(browser, live_server.url + "/desk/", java_script_enabled=False)
    page.locator(".me summary").click()
    page.locator("button[value=dark]").click()
    assert page.locator("html").get_attribute("data-theme") == "dark"
    assert page.url == live_server.url + "/desk/"
    assert page.locator("[data-add-row]").is_hidden()
    context.close()


def test_a_row_is_added_with_its_own_names(page: Page) -> None:
    add = page.get_by_role("button", name="Add phone")
    add.click()
    assert page.locator("[name=form-TOTAL_FORMS]").input_value() == "3"
    assert page.evaluate("document.activeElement.id") == "id_form-2-number"
    assert page.get_by_role("group", name="Phone 3").is_visible()
    add.click()
    assert page.locator("[name=form-3-number]").is_visible()
    assert add.is_hidden(), "four is the limit of this set"


def test_leaving_asks_first_when_something_was_typed(page: Page, live_server: Any) -> None:
    asked = []

    def stay(dialog: Any) -> None:
        asked.append(dialog.type)
        dialog.dismiss()

    page.on("dialog", stay)
    page.locator("#id_note").press_sequentially("half a sentence")
    page.evaluate("location.href = '/elsewhere/'")
    page.wait_for_timeout(300)
    assert asked == ["beforeunload"]
    assert page.url == live_server.url + "/desk/"


def test_leaving_untouched_asks_nothing(page: Page, live_server: Any) -> None:
    page.evaluate("location.href = '/elsewhere/'")
    page.wait_for_url(live_server.url + "/elsewhere/")


def test_a_double_press_sends_once(page: Page) -> None:
    sent: list[str] = []

    def count(request: Request) -> None:
        if request.method == "POST":
            sent.append(request.url)

    page.on("request", count)
    page.evaluate(
        """() => { const form = document.querySelector("#phones");
                   form.requestSubmit(); form.requestSubmit(); }"""
    )
    page.wait_for_load_state("networkidle")
    assert len(sent) == 1


def test_paper_is_white_and_leaves_the_buttons_out(page: Page) -> None:
    page.emulate_media(media="print", color_scheme="dark")
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(255, 255, 255)"
    assert page.evaluate("getComputedStyle(document.body).color") == "rgb(26, 35, 42)"
    assert page.locator(".do:visible").count() == 0
    assert page.get_by_text("The makers' instructions come first.").is_visible()
