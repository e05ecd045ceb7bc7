"""Filters of the papers: in which direction a text runs, and where marks stand on a photo."""

import unicodedata
from collections.abc import Mapping
from datetime import date
from typing import Any

from django import template

from installs.domain.intervals import in_words
from shop.papers.domain.drawn import drawn_marks as places

register = template.Library()


@register.filter
def direction(text: object) -> str:
    """Return ``rtl`` where the first letter of the text belongs to a right-to-left script.

    This is the rule P2 of the Unicode bidirectional algorithm, UAX #9 (from memory). The maker of
    PDFs does not know ``dir="auto"``, with which a browser would find out by itself.
    """
    for sign in str(text or ""):
        kind = unicodedata.bidirectional(sign)
        if kind in {"R", "AL"}:
            return "rtl"
        if kind == "L":
            return "ltr"
    return "ltr"


@register.filter
def drawn_marks(photo: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Return the marks of a photo with their places in its dots, for paper/parts/marks.html."""
    return places(photo["marks"], photo["width"], photo["height"])


@register.filter
def read_day(iso: str) -> str:
    """Return an ISO date in words, ``14 March 2026``."""
    return in_words(date.fromisoformat(iso))
