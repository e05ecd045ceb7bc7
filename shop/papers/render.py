"""From a template to a PDF: tagged, in one of two sizes, with nothing fetched from anywhere."""

from __future__ import annotations

import logging
from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from functools import cache
from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING, Any

from django.conf import settings
from django.contrib.staticfiles import finders
from django.template.loader import get_template

if TYPE_CHECKING:
    from weasyprint import CSS
    from weasyprint.text.fonts import FontConfiguration

log = logging.getLogger(__name__)
_SHEET = Path(__file__).with_name("paper.css")
# The text library below is one for the whole process and was not made for threads.
_ONE_AT_A_TIME = Lock()


class PaperSize(StrEnum):
    """Sizes of paper, by the word that style sheets use; a label has the size of its own kind."""

    A4 = "a4"
    LETTER = "letter"
    LABEL = "89mm 36mm"


class PaperError(Exception):
    """A template asked for something that no paper may load, or that is not there."""


def shop_size() -> PaperSize:
    """Return the paper in the shop's printer, from the settings."""
    return PaperSize(settings.SHOP_PAPER)


@dataclass(frozen=True)
class _Press:
    """What is made once and used for every document: made anew each time it would pile up."""

    fonts: FontConfiguration
    face: CSS
    sizes: Mapping[PaperSize, CSS] = field(default_factory=dict)


@cache
def _press() -> _Press:
    from weasyprint import CSS  # noqa: PLC0415 - takes a second, which no start should wait for
    from weasyprint.text.fonts import FontConfiguration  # noqa: PLC0415

    fonts = FontConfiguration()

    def sheet(text: str) -> CSS:
        return CSS(string=text, font_config=fonts, url_fetcher=_fetcher({}))

    sizes = {size: sheet(f"@page {{ size: {size.value} }}") for size in PaperSize}
    return _Press(fonts, sheet(_SHEET.read_text(encoding="utf-8")), sizes)


def render(
    template: str,
    context: Mapping[str, Any],
    *,
    size: PaperSize,
    pictures: Mapping[str, Path | bytes] | None = None,
) -> bytes:
    """Return the PDF of a template.

    A template may show ``static:shop/icon.svg`` (a file of ours) and ``picture:NAME`` for a NAME in
    `pictures`; anything else that it refers to, a file or another host, raises PaperError.
    """
    from weasyprint import HTML  # noqa: PLC0415
    from weasyprint.urls import FatalURLFetchingError  # noqa: PLC0415

    html = get_template(template).render({**context, "size": size})
    with _ONE_AT_A_TIME:
        press = _press()
        page = HTML(string=html, base_url="paper:/", url_fetcher=_fetcher(pictures or {}))
        try:
            pdf: bytes = page.write_pdf(
                stylesheets=[press.face, press.sizes[size]],
                font_config=press.fonts,
                # PDF/UA-1, ISO 14289-1: structure, title and language for who cannot see it.
                pdf_variant="pdf/ua-1",
            )
        except FatalURLFetchingError as error:
            raise PaperError(f"{template}: {error}") from error
    return pdf


def _fetcher(pictures: Mapping[str, Path | bytes]) -> Any:
    from weasyprint.urls import URLFetcher, URLFetcherResponse  # noqa: PLC0415

    # The library has no types.
    class OwnOnly(URLFetcher):  # type: ignore[misc]
        """Gives our own files and the pictures of this document; refuses the world."""

        def fetch(self, url: str, headers: Any = None) -> Any:
            return URLFetcherResponse(url, _own(url, pictures))

    return OwnOnly(fail_on_errors=True, allow_redirects=False)


def _own(url: str, pictures: Mapping[str, Path | bytes]) -> bytes:
    """Return the bytes behind an address; raises PaperError for any that is not our own."""
    scheme, _, rest = url.partition(":")
    if scheme == "picture" and rest in pictures:
        found = pictures[rest]
        return found if isinstance(found, bytes) else found.read_bytes()
    if scheme == "static":
        # The finders refuse whatever leads out of our folders.
        file = finders.find(rest)
        if file:
            return Path(str(file)).read_bytes()
    raise PaperError(f"A paper does not load {url[:200]}")
