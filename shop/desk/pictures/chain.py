"""The chain between coach and car: ratings as lengths of bar against the towed weight.

``draw(chain, unit=..)`` lays a judged chain out for parts/chain.svg.html. Lengths across are
percent of the picture's width, so that it fills a wide page and a phone alike; heights are
pixels. A link without a rating has no bar but a dotted frame: it is unknown, never endless.
No Django, no clock, no rows.
"""

from dataclasses import dataclass

from vehicles.domain.bands import Held, Verdict
from vehicles.domain.ratings import POUND_KG, Chain, Link

from .text import clip, lines

HEAD = 44  # above the first link: the towed weight and its pointer
LABEL_Y, BAR_Y, BAR_HEIGHT, TEXT_Y, LINE, GAP = 15, 23, 16, 57, 15, 14
LABEL_CHARS, SUB_CHARS = 22, 42
# The longest bar ends short of the edge, so that its end can be seen.
FULL = 96.0
TONES = {
    Verdict.PASS: "good",
    Verdict.FAIL: "bad",
    Verdict.CLOSE: "doubt",
    Verdict.UNKNOWN: "doubt",
}
SAID = {
    Verdict.PASS: "holds",
    Verdict.FAIL: "too weak",
    Verdict.CLOSE: "too close to call",
    Verdict.UNKNOWN: "unknown",
}


@dataclass(frozen=True, slots=True)
class Text:
    """A line of small text at its height."""

    text: str
    y: float


@dataclass(frozen=True, slots=True)
class Row:
    """One link: its label and rating on one line, the bar under it, then what is said of it.

    ``length`` is the bar in percent (0 where the rating is unknown), ``least`` the lower end of a
    range, ``lines`` the small text; ``full`` says the same in one sentence.
    """

    label: str
    value: str
    full: str
    tone: str
    verdict: str
    weakest: bool
    known: bool
    length: float
    least: float | None
    y: float
    lines: tuple[Text, ...]

    @property
    def label_y(self) -> float:
        return self.y + LABEL_Y

    @property
    def bar_y(self) -> float:
        return self.y + BAR_Y

    @property
    def bar_end(self) -> float:
        return self.bar_y + BAR_HEIGHT

    @property
    def tick_y(self) -> float:
        """Where the towed weight's tick begins; it stands out over the bar on both sides."""
        return self.bar_y - 4

    @property
    def bottom(self) -> float:
        return self.lines[-1].y + GAP


@dataclass(frozen=True, slots=True)
class Mark:
    """The towed weight: where its line stands, its band around it, and what is written at it."""

    at: float
    low: float
    width: float
    words: str
    anchor: str


@dataclass(frozen=True, slots=True)
class ChainPicture:
    """The drawing. ``words`` says in sentences what it shows."""

    title: str
    words: str
    height: int
    rows: tuple[Row, ...]
    towed: Mark | None
    bar_height: int = BAR_HEIGHT
    tick_height: int = BAR_HEIGHT + 8


def draw(chain: Chain, *, unit: str = "lb") -> ChainPicture:
    """Lay the chain out; ``unit`` is ``lb`` or ``kg``."""
    known = [link.rating_kg for link, _ in chain.links if link.rating_kg is not None]
    most = max([*known, chain.towed.high if chain.towed else 0.0], default=0.0)
    rows: list[Row] = []
    y = float(HEAD)
    for link, held in chain.links:
        rows.append(_row(link, held, chain, most, y, unit))
        y = rows[-1].bottom
    towed = _mark(chain, most, unit)
    said = [towed.words + "." if towed else "The towed weight is unknown."]
    return ChainPicture(
        title="The chain from coach to car",
        words=" ".join([*said, chain.words, *(row.full for row in rows)]),
        height=round(y),
        rows=tuple(rows),
        towed=towed,
    )


def shown(kg: float, unit: str) -> str:
    """Return a mass for a label: ``5,000 lb``."""
    return f"{kg / POUND_KG if unit == 'lb' else kg:,.0f} {unit}"


def _row(link: Link, held: Held, chain: Chain, most: float, y: float, unit: str) -> Row:
    rating = link.rating_kg
    weakest = chain.weakest is link
    value = "? unknown" if rating is None else shown(rating, unit)
    said = _said(link, held, weakest, unit)
    label = f"{link.label[:1].upper()}{link.label[1:]}"
    text = lines(f"{said[:1].upper()}{said[1:]}", SUB_CHARS)
    return Row(
        label=clip(label, LABEL_CHARS),
        value=value,
        full=f"{label}: {value}, {said}." if rating is not None else f"{label}: {said}.",
        tone=TONES[held.verdict],
        verdict=SAID[held.verdict],
        weakest=weakest,
        known=rating is not None,
        length=_percent(rating or 0.0, most),
        least=None if link.least_kg is None else _percent(link.least_kg, most),
        y=y,
        lines=tuple(Text(line, y + TEXT_Y + n * LINE) for n, line in enumerate(text)),
    )


def _said(link: Link, held: Held, weakest: bool, unit: str) -> str:
    if link.rating_kg is None:
        return f"unknown: {link.measure or f'read the rating of the {link.label}'}"
    said = ["weakest of those known"] if weakest else []
    if link.least_kg is not None:
        said.append(f"made for {shown(link.least_kg, unit)} and more")
    if held.verdict is Verdict.UNKNOWN:
        said.append("nothing to hold it against")
    elif held.verdict is not Verdict.PASS and held.limit and held.limit.value * 1 < _in(link, unit):
        # It is the lower end of the range that the weight does not reach.
        said.append("the car is too light for it" if held.verdict is Verdict.FAIL else "close")
    else:
        said.append(SAID[held.verdict])
    return ", ".join(said)


def _in(link: Link, unit: str) -> float:
    return (link.rating_kg or 0.0) / (POUND_KG if unit == "lb" else 1.0) - 0.5


def _percent(kg: float, most: float) -> float:
    return round(FULL * kg / most, 2) if most else 0.0


def _mark(chain: Chain, most: float, unit: str) -> Mark | None:
    if chain.towed is None:
        return None
    at = _percent(chain.towed.value, most)
    low, high = _percent(chain.towed.low, most), _percent(chain.towed.high, most)
    half = 50
    return Mark(
        at=at,
        low=low,
        width=round(high - low, 2),
        words=f"Towed: {shown(chain.towed.value, unit)}",
        anchor="start" if at < half else "end",
    )
