"""All limits and tables as one set: what a shop set, else the starting values, each by its code.

``START`` holds the starting values of ``limits.py`` and ``limit_tables.py``. A shop's own set is
``in_force(changed)``, with ``changed`` as it is stored: code -> ``Changed``. Whoever calculates
takes the set as an argument; nothing here remembers one. A value is stored as JSON: a number's
``{"value", "low", "high"}``, a table's ``{"rows": [[x, y], ...]}``, a choice's ``{"choice"}``.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from enum import StrEnum
from functools import cached_property
from typing import Any

from vehicles.domain import limit_tables, limits
from vehicles.domain.bands import Band
from vehicles.domain.inputs import InputError, not_negative, number, positive, temperature
from vehicles.domain.inputs import share as as_share
from vehicles.domain.limit_tables import Curve

FROM_MEMORY = "from memory, confirm"


class Form(StrEnum):
    """What a setting consists of."""

    BAND = "band"
    TABLE = "table"
    CHOICE = "choice"


@dataclass(frozen=True, slots=True)
class Setting:
    """One limit, table or choice as it stands in a set.

    ``band``, ``rows`` or ``choice`` holds it, by ``form``. ``unit`` is that of the value, or of
    a table's second column, ``x_unit`` that of its first. ``changed`` is True for the shop's own.
    """

    code: str
    words: str
    group: str
    form: Form
    unit: str = ""
    x_unit: str = ""
    band: Band | None = None
    rows: tuple[tuple[float, float], ...] = ()
    choice: str = ""
    choices: tuple[tuple[str, str], ...] = ()
    source: str = ""
    edition: str = ""
    from_memory: bool = False
    disputed: bool = False
    changed: bool = False

    @property
    def source_words(self) -> str:
        """The source as a person reads it, with its edition and what is to be confirmed."""
        notes = [self.edition] * bool(self.edition)
        notes += [FROM_MEMORY] * self.from_memory
        notes += ["sources differ"] * self.disputed
        return "; ".join([self.source, *notes])

    @property
    def to_confirm(self) -> bool:
        """Did nobody look this up yet?"""
        return self.from_memory

    @property
    def words_of_value(self) -> str:
        """The value as one text: ``12.5 V (12.2 to 12.8)``, ``8 rows``, ``each``."""
        if self.form is Form.BAND and self.band is not None:
            unit = f" {self.unit}" if self.unit else ""
            said = f"{self.band.value:.6g}{unit}"
            if self.band.certain:
                return said
            return f"{said} ({self.band.low:.6g} to {self.band.high:.6g})"
        if self.form is Form.TABLE:
            first, last = self.rows[0], self.rows[-1]
            ends = (f"{x:g} {self.x_unit}: {y:g} {self.unit}" for x, y in (first, last))
            return f"{len(self.rows)} rows, {' to '.join(ends)}"
        return dict(self.choices)[self.choice]

    def content(self) -> dict[str, Any]:
        """The value as it is stored."""
        if self.form is Form.BAND and self.band is not None:
            return {"value": self.band.value, "low": self.band.low, "high": self.band.high}
        if self.form is Form.TABLE:
            return {"rows": [list(row) for row in self.rows]}
        return {"choice": self.choice}


@dataclass(frozen=True, slots=True)
class Changed:
    """What a shop set in place of a starting value, with where it has it from."""

    content: Mapping[str, Any]
    source: str
    edition: str = ""
    from_memory: bool = False


class Limits(Mapping[str, Setting]):
    """A whole set of limits, by code. Raises KeyError for a code that is not listed."""

    def __init__(self, settings: Mapping[str, Setting]) -> None:
        self._settings = dict(settings)

    def __getitem__(self, code: str) -> Setting:
        return self._settings[code]

    def __iter__(self) -> Iterator[str]:
        return iter(self._settings)

    def __len__(self) -> int:
        return len(self._settings)

    def __hash__(self) -> int:
        return hash(frozenset(self._settings.values()))

    def band(self, code: str) -> Band:
        """The value of a limit with its bounds, in its unit."""
        found = self._settings[code].band
        if found is None:
            raise KeyError(code)
        return found

    def value(self, code: str) -> float:
        """The value of a limit alone."""
        return self.band(code).value

    def curve(self, code: str) -> Curve:
        """A table as the calculations read it."""
        it = self._settings[code]
        return Curve(
            code, it.words, it.rows, it.x_unit, it.unit, it.source, it.from_memory, it.disputed
        )

    def ampacity(self) -> dict[int, float]:
        """Amps that a wire may carry by its gauge (AWG)."""
        return {int(gauge): amps for gauge, amps in self._settings["ampacity"].rows}

    def with_value(self, code: str, content: Mapping[str, Any]) -> Limits:
        """The set as it would be with another value. Raises as ``checked`` does."""
        new = checked(code, content)
        kept = replace(self._settings[code], band=new.band, rows=new.rows, choice=new.choice)
        return Limits({**self._settings, code: kept})

    @cached_property
    def bands(self) -> Mapping[str, Band]:
        """Every limit that is a number, as the ``settings`` of ``network_of`` and others."""
        return {code: it.band for code, it in self._settings.items() if it.band is not None}

    @property
    def share(self) -> Decimal:
        """The share of a fuse's rating that a lasting load may use."""
        return Decimal(str(self.value("fuse_share")))


def checked(code: str, content: Mapping[str, Any]) -> Setting:
    """Return the setting ``code`` with ``content`` as its value, if that can be.

    Raises KeyError for a code that is not listed, InputError whose ``field`` is ``low``,
    ``value``, ``high``, ``rows`` or ``choice`` for a value that cannot be.
    """
    start = START[code]
    if start.form is Form.CHOICE:
        choice = str(content.get("choice", ""))
        if choice not in dict(start.choices):
            raise InputError("choice", "choose one from the list.")
        return replace(start, choice=choice)
    if start.form is Form.TABLE:
        return replace(start, rows=_rows(start, content.get("rows", ())))
    low, value, high = (_figure(start, name, content.get(name)) for name in _ENDS)
    if not low <= value <= high:
        name = "low" if low > value else "high"
        raise InputError(name, f"{value:g} must lie between the bounds, {low:g} and {high:g}.")
    return replace(start, band=Band(value, low, high))


_ENDS = ("low", "value", "high")
# Bounds that may be nothing at all: a part can draw no current.
_FROM_NOTHING = frozenset({"unlisted_a"})


def _figure(start: Setting, name: str, value: Any) -> float:
    if start.unit == "°C":
        return temperature(name, value)
    # A stranded wire has more resistance than a solid one: the only share above one.
    if start.code.endswith("_share") and not start.unit and start.code != "strand_share":
        return as_share(name, value)
    if start.code in _FROM_NOTHING:
        return not_negative(name, value)
    return positive(name, value)


def _rows(start: Setting, given: Any) -> tuple[tuple[float, float], ...]:
    rows = tuple((number("rows", x), number("rows", y)) for x, y in given)
    try:
        Curve(start.code, start.words, rows, start.x_unit, start.unit, start.source)
    except InputError as fault:
        raise InputError("rows", fault.reason) from fault
    if any(y < 0 for _, y in rows):
        raise InputError("rows", "the second column cannot be negative.")
    if start.code == "ampacity" and any(x != int(x) for x, _ in rows):
        raise InputError("rows", "a gauge is a whole number.")
    return rows


def in_force(changed: Mapping[str, Changed]) -> Limits:
    """Return the set with what a shop changed.

    A code that is no longer listed is left out: what an older edition of the program knew.
    Raises InputError for a stored value that cannot be.
    """
    found = dict(START)
    for code, change in changed.items():
        if code in START:
            found[code] = replace(
                checked(code, change.content),
                source=change.source,
                edition=change.edition,
                from_memory=change.from_memory,
                disputed=False,
                changed=True,
            )
    return Limits(found)


GROUPS = {
    "wire": limits.WIRE,
    "fuse": limits.FUSE,
    "circuit": limits.CIRCUIT,
    "battery": limits.BATTERY,
    "coupling": limits.COUPLING,
}
CURVES = (
    limit_tables.FLOODED,
    limit_tables.FLOODED_ROUNDED,
    limit_tables.FLOODED_COACH,
    limit_tables.LOAD_TEST,
    limit_tables.LOAD_TEST_OTHER,
    *limit_tables.LIFE.values(),
)


def _start() -> Iterator[Setting]:
    for group, members in GROUPS.items():
        for it in members:
            yield Setting(
                it.code, it.words, group, Form.BAND, it.unit, band=it.band, source=it.source,
                from_memory=it.from_memory, disputed=it.disputed,
            )  # fmt: skip
        yield from (it for it in _tables() if it.group == group)


def _tables() -> Iterator[Setting]:
    yield Setting(
        "ampacity", "amps that a wire may carry, by gauge", "wire", Form.TABLE, "A", "AWG",
        rows=tuple(sorted((float(g), float(a)) for g, a in limit_tables.AMPACITY.items())),
        source=limit_tables.AMPACITY_SOURCE, from_memory=True,
    )  # fmt: skip
    for curve in CURVES:
        yield Setting(
            curve.code, curve.words, "battery", Form.TABLE, curve.y_unit, curve.x_unit,
            rows=curve.rows, source=curve.source, from_memory=curve.from_memory,
            disputed=curve.disputed,
        )  # fmt: skip
    for chemistry, exponent in limit_tables.PEUKERT.items():
        yield Setting(
            f"peukert_{chemistry}", f"Peukert's exponent, {chemistry} battery", "battery",
            Form.BAND, band=exponent, source=limit_tables.PEUKERT_SOURCE,
        )  # fmt: skip
    for chemistry, lost in limit_tables.SELF_DISCHARGE.items():
        yield Setting(
            f"self_discharge_{chemistry}_share",
            f"charge that a stored {chemistry} battery loses a month at 20 °C", "battery",
            Form.BAND, band=Band(lost, lost, lost), source=limit_tables.SELF_DISCHARGE_SOURCE,
        )  # fmt: skip
    for code, words, group, choice, choices in _CHOICES:
        yield Setting(
            code, words, group, Form.CHOICE, choice=choice, choices=choices,
            source=limits.NO_SOURCE,
        )  # fmt: skip


_CHOICES = (
    (
        "flooded_table", "table for a rested flooded battery", "battery",
        limit_tables.FLOODED.code,
        tuple((curve.code, curve.words) for curve in CURVES if curve.code.startswith("flooded")),
    ),
    (
        "load_test_table", "table for a load test", "battery",
        limit_tables.LOAD_TEST.code,
        tuple((curve.code, curve.words) for curve in CURVES if curve.code.startswith("load_test")),
    ),
    (
        "cable_rule", "what a pair of cables must hold", "coupling", limits.CABLE_RULE,
        (("each", "each of them the whole load"), ("combined", "both together the load")),
    ),
    (
        "coach_basis", "what a coach's allowance is reckoned from", "coupling",
        limits.COACH_BASIS,
        (("worst", "its GCWR less its GVWR"), ("scaled", "its GCWR less its weight on a scale")),
    ),
)  # fmt: skip


START = Limits({it.code: it for it in _start()})
