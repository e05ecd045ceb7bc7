"""The tags of the face: a state by word and shape, a signal word, a plate, a date, a card.

``{% load face %}`` in a template. Nothing here fetches rows; what a tag shows it was given.
"""

from collections.abc import Iterable, Mapping
from datetime import date, datetime
from typing import Any

from django import template
from django.conf import settings
from django.template.context import Context
from django.urls import NoReverseMatch, reverse
from django.utils.formats import date_format
from django.utils.html import format_html
from django.utils.safestring import SafeString

from shop.desk.pictures.fuse_grid import place

register = template.Library()

SHAPES = {
    "ON": "on",
    "OFF": "off",
    "TIMED": "timed",
    "CONDITIONAL": "conditional",
    "UNKNOWN": "unknown",
}
VERDICTS = {"good", "bad", "doubt", "plain"}
TONES = {"ON": "good", "OFF": "bad"}

# The words of ANSI Z535.4; the alert triangle stands before all but NOTICE, which speaks of
# damage to things and not to people.
SIGNAL_WORDS = ("DANGER", "WARNING", "CAUTION", "NOTICE")

# Each door with the name of its first page and the roles that use it. A door whose screens are
# not there has no such page and is left out.
DOORS = (
    ("Desk", "desk:today", ("desk", "technician", "owner")),
    ("Bay", "bay:today", ("technician", "owner")),
    ("Office", "office:home", ("owner",)),
)
FIND = "desk:find"

THEMES = ("light", "dark")


@register.simple_tag
def state(value: object, words: str = "", verdict: str = "") -> SafeString:
    """Show an answer by its word and its shape: ``{% state port.value port.words port.verdict %}``.

    ``words`` is the answer read out (``TIMED, until 20 min after key-off``); what follows the
    word is set beside it. ``verdict`` says whether this is what the part needs: ``good``,
    ``bad``, ``doubt``, or ``plain`` where it needs nothing; without a verdict ON reads as alive
    and OFF as dead. Anything that is not one of the five answers is UNKNOWN, and UNKNOWN stays
    in doubt whatever the verdict says.
    """
    word = str(value or "").upper()
    if word not in SHAPES:
        word = "UNKNOWN"
    tone = verdict if verdict in VERDICTS else TONES.get(word, "doubt")
    if word == "UNKNOWN":
        tone = "doubt"
    rest = str(words or "").removeprefix(word).lstrip(", ")
    more = format_html(' <span class="more">{}</span>', rest) if rest else ""
    return format_html(
        '<span class="word {}"><svg aria-hidden="true" focusable="false">'
        '<use href="#s-{}"/></svg><b>{}</b>{}</span>',
        tone,
        SHAPES[word],
        word,
        more,
    )


@register.simple_tag
def signal(word: object) -> SafeString:
    """Show a signal word, or UNKNOWN where a finding says that nobody measured.

    Raises ValueError for any other word: severities come from our own code and schema.
    """
    text = str(word)
    if text == "UNKNOWN":
        return state(text)
    if text not in SIGNAL_WORDS:
        raise ValueError(f"{text} is not a signal word of ANSI Z535.4")
    alert = (
        ""
        if text == "NOTICE"
        else format_html(
            '<svg aria-hidden="true" focusable="false"><use href="#s-{}"/></svg>', "alert"
        )
    )
    return format_html('<span class="signal {}">{}<b>{}</b></span>', text.lower(), alert, text)


@register.filter
def plate(text: str | None) -> SafeString:
    """Show a number plate as one, or say that none is recorded."""
    if not text:
        return format_html('<span class="soft">{}</span>', "no plate recorded")
    return format_html('<span class="plate">{}</span>', text)


@register.filter
def day(value: date | None) -> SafeString:
    """Show a date as a ``time`` element: ``14 Dec 2026``."""
    if value is None:
        return format_html('<span class="soft">{}</span>', "no date")
    return format_html(
        '<time datetime="{}">{}</time>', value.strftime("%Y-%m-%d"), date_format(value, "j M Y")
    )


@register.filter(expects_localtime=True)
def moment(value: datetime | None) -> SafeString:
    """Show an instant on the shop's clock as a ``time`` element: ``14 Dec 2026, 09:05``."""
    if value is None:
        return format_html('<span class="soft">{}</span>', "no time")
    return format_html(
        '<time datetime="{}">{}</time>',
        value.isoformat(timespec="seconds"),
        date_format(value, "j M Y, H:i"),
    )


@register.simple_block_tag
def card(content: str, title: str = "", note: object = "", kind: str = "") -> SafeString:
    """A card of paper: ``{% card "Fuses" note="dash box" %}...{% endcard %}``.

    ``kind`` adds classes. A head that holds more than a note is written out: see parts.css.
    """
    side = format_html("<small>{}</small>", note) if note else ""
    head = format_html("<header><h2>{}</h2>{}</header>", title, side) if title else ""
    return format_html('<section class="card {}">{}{}</section>', kind, head, content)


@register.simple_tag(takes_context=True)
def sort_heading(context: Context, label: str, key: str, kind: str = "") -> SafeString:
    """A column heading that sorts by ``?sort=key``, and by ``?sort=-key`` when pressed again."""
    query = context["request"].GET.copy()
    now = query.get("sort", "")
    query["sort"] = f"-{key}" if now == key else key
    query.pop("page", None)
    order = {key: "ascending", f"-{key}": "descending"}.get(now)
    aria = format_html(' aria-sort="{}"', order) if order else ""
    arrow = {"ascending": "▲", "descending": "▼"}.get(order or "", "")
    mark = format_html('<span aria-hidden="true">{}</span>', arrow) if arrow else ""
    return format_html(
        '<th scope="col"{} class="{}"><a href="?{}">{} {}</a></th>',
        aria,
        kind,
        query.urlencode(),
        label,
        mark,
    )


@register.filter
def fuse_rows(positions: Iterable[Mapping[str, Any]]) -> list[list[Mapping[str, Any] | None]]:
    """Lay fuse positions out as they sit in the box: see ``shop.desk.pictures.fuse_grid.place``."""
    return place(positions)


@register.simple_tag
def shop_name() -> str:
    """The shop's own name, from the settings."""
    return settings.SHOP_NAME


@register.simple_tag(takes_context=True)
def theme(context: Context) -> str:
    """``light`` or ``dark`` where the reader chose one, else nothing: the system decides."""
    request = context.get("request")
    chosen = request.COOKIES.get("theme", "") if request else ""
    return chosen if chosen in THEMES else ""


@register.simple_tag(takes_context=True)
def units(context: Context) -> str:
    """``us`` or ``metric`` where the reader chose one, else nothing: as the shop."""
    return str(getattr(getattr(context.get("request"), "user", None), "units", ""))


@register.simple_tag(takes_context=True)
def doors(context: Context) -> list[dict[str, Any]]:
    """The doors that exist and that this person uses: ``label``, ``url``, ``current``."""
    request = context.get("request")
    role = getattr(getattr(request, "user", None), "role", "")
    match = getattr(request, "resolver_match", None)
    found = []
    for label, name, roles in DOORS:
        url = _url(name) if role in roles else ""
        if url:
            here = bool(match and match.namespace == name.partition(":")[0])
            found.append({"label": label, "url": url, "current": here})
    return found


@register.simple_tag(takes_context=True)
def find_url(context: Context) -> str:
    """Where the search box sends its question; nothing for those who may not search."""
    role = getattr(getattr(context.get("request"), "user", None), "role", "")
    return _url(FIND) if role else ""


def _url(name: str) -> str:
    try:
        return reverse(name)
    except NoReverseMatch:
        return ""
