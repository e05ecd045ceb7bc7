"""A form as a browser would send it back: read from the page itself, not from the form's class."""

from html.parser import HTMLParser
from typing import Any

from django.http import HttpResponse
from django.test import Client


class _Reader(HTMLParser):
    """Collects what the form in the page's main part would send, as HTML's own rules have it."""

    def __init__(self) -> None:
        super().__init__()
        self.sent: dict[str, list[str]] = {}
        self.texts: list[str] = []
        self._in_main = self._in_form = False
        self._templates = 0
        self._select: str | None = None
        self._first: str | None = None
        self._chosen = False
        self._area: str | None = None

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        told = {key: value or "" for key, value in attrs}
        if tag == "main":
            self._in_main = True
        elif tag == "template":
            self._templates += 1
        elif tag == "form" and self._in_main:
            self._in_form = told.get("method") == "post"
        elif self._in_form and not self._templates:
            self._control(tag, told)

    def _control(self, tag: str, told: dict[str, str]) -> None:
        if tag == "input":
            ticks = told.get("type") in ("checkbox", "radio")
            if not ticks or "checked" in told:
                self._send(told.get("name", ""), told.get("value", "on" if ticks else ""))
        elif tag == "select":
            self._select, self._first, self._chosen = told["name"], None, False
        elif tag == "option" and self._select is not None:
            if self._first is None:
                self._first = told.get("value", "")
            if "selected" in told:
                self._chosen = True
                self._send(self._select, told.get("value", ""))
        elif tag == "textarea":
            self._area = told["name"]
            self._send(self._area, "")

    def handle_endtag(self, tag: str) -> None:
        if tag == "template":
            self._templates -= 1
        elif tag == "form":
            self._in_form = False
        elif tag == "select" and self._select is not None:
            if not self._chosen and self._first is not None:
                self._send(self._select, self._first)
            self._select = None
        elif tag == "textarea":
            self._area = None

    def handle_data(self, data: str) -> None:
        self.texts.append(data)
        if self._area is not None:
            self.sent[self._area][-1] += data

    def _send(self, name: str, value: str) -> None:
        if name:
            self.sent.setdefault(name, []).append(value)


def sent_back(response: HttpResponse) -> dict[str, Any]:
    """Return what the page's form would send if its button were pressed now."""
    reader = _Reader()
    reader.feed(response.content.decode())
    # HTML drops the first line break of a text area.
    return {
        name: [value.removeprefix("\n").removeprefix("\r\n") for value in values]
        for name, values in reader.sent.items()
    }


def words_of(response: HttpResponse) -> str:
    """Return the page's text on one line."""
    reader = _Reader()
    reader.feed(response.content.decode())
    return " ".join(" ".join(reader.texts).split())


def fill_in(client: Client, url: str, **typed: Any) -> HttpResponse:
    """Open a form, type these values into it, press its button."""
    opened = client.get(url)
    assert opened.status_code == 200, opened.status_code
    return client.post(url, {**sent_back(opened), **typed})
