"""What the workbench says of a wire, a fuse or a battery: judged lines, never saved."""

from __future__ import annotations

from collections.abc import Iterator

from installs.domain.tow_power import Cell, hold_minutes
from shop.desk.forms.workbench import (
    MM_A_METRE,
    BatteryForm,
    BenchForm,
    BreakawayForm,
    FuseForm,
    WireForm,
)
from shop.desk.present.tow import WORDS, Line, line_of, sentence
from vehicles.domain.bands import Unknown, Verdict, at_least, at_most
from vehicles.domain.battery import charge_percent
from vehicles.domain.endurance import Draw, Origin, tow_hours
from vehicles.domain.fuse import BladeSize, fuse_verdict
from vehicles.domain.inputs import InputError
from vehicles.domain.limit_set import Limits
from vehicles.domain.wire import Standard, ampacity_a, area_mm2, drop_v, gauge_words, thinnest

# Which field of a form a calculation speaks of, by its own word for the figure.
PLACES = {
    "wire length": ("length",),
    "way back": ("length",),
    "current": ("load", "draw"),
    "gauge": ("size",),
    "cross-section": ("size",),
    "rating": ("rating",),
    "load": ("load",),
    "wire": ("carries",),
    "volts": ("volts",),
    "hours rested": ("rested",),
    "capacity": ("capacity",),
    "charging current": ("charge",),
    "current of all that is awake": ("draw",),
}


def lines_of(form: BenchForm, limits: Limits) -> list[Line]:
    """Return what is to be said of a form that was filled in; faults go to its fields."""
    if not form.is_valid():
        return []
    work = {"wire": _wire, "fuse": _fuse, "battery": _battery, "breakaway": _breakaway}[form.name]
    try:
        return list(work(form, limits))  # type: ignore[operator]
    except InputError as fault:
        named = {
            word: name for word, names in PLACES.items() for name in names if name in form.fields
        }
        form.took_fault(fault, named)
        return []


def _unknown(what: str, *asks: str) -> Line:
    tone, said = WORDS[Verdict.UNKNOWN]
    return Line(what, tone, said, sentence(f"{'; '.join(asks)}."))


def _wire(form: WireForm, limits: Limits) -> Iterator[Line]:
    told = form.cleaned_data
    length_mm, load = form.number("length"), form.number("load")
    asks = ["measure the length of the run"] * (length_mm is None)
    asks += ["measure the load's current"] * (load is None)
    if length_mm is None or load is None:
        yield _unknown("Lost there and back", *asks)
        return
    standard, supply = Standard(told["standard"]), limits.value("car_volts")
    metres = length_mm / MM_A_METRE
    body = told["back"] == "body"
    run = {
        "out_m": metres,
        "back_m": 0.0 if body else metres,
        "return_ohm": limits.value("body_return_ohm") if body else 0.0,
    }
    share = limits.value(told["use"])
    source = limits[told["use"]].source_words
    if told["gauge"] is None and told["mm2"] is None:
        yield _unknown("Lost there and back", "read the size on the wire's jacket")
    else:
        copper = area_mm2(standard, gauge=told["gauge"], mm2=told["mm2"])
        at_c, lay = limits.value("wire_temperature_c"), limits.value("strand_share")
        lost = drop_v(load, copper, at_c=at_c, lay=lay, **run)
        yield line_of(at_most("lost there and back", lost, share * supply, unit="V"), source)
        yield _carries(form, standard, load, limits)
    choice = thinnest(
        load, supply_v=supply, share=share, standard=standard,
        table=limits.ampacity(), **run,
    )  # fmt: skip
    said = f"{choice.words[:1].upper()}{choice.words[1:]}."
    yield Line("Thinnest that does it", "plain", choice.size or "none", said, source)


def _carries(form: WireForm, standard: Standard, load: float, limits: Limits) -> Line:
    told = form.cleaned_data
    table = limits.ampacity()
    found = ampacity_a(standard, gauge=told["gauge"], mm2=told["mm2"], table=table)
    held = at_least("what the wire may carry", found, load, unit="A", places=1)
    return line_of(held, limits["ampacity"].source_words)


def _fuse(form: FuseForm, limits: Limits) -> Iterator[Line]:
    told = form.cleaned_data
    carries = form.number("carries")
    source = limits["fuse_share"].source_words
    if told["gauge"] is not None:
        table = limits.ampacity()
        found = ampacity_a(Standard.SAE, gauge=told["gauge"], table=table)
        if isinstance(found, Unknown):
            yield _unknown(f"Wire of {gauge_words(told['gauge'])}", *found.measure)
            return
        carries, source = found, f"{source}; wire: {limits['ampacity'].source_words}"
    size = BladeSize(told["blade"]) if told["blade"] else None
    verdict = fuse_verdict(
        form.number("rating"), form.number("load"), carries, share=limits.share, size=size
    )
    tone, _ = WORDS[verdict.verdict]
    yield Line("Fuse between load and wire", tone, verdict.side.value, verdict.words, source)
    if verdict.ratings:
        would = ", ".join(f"{rating:f} A" for rating in verdict.ratings)
        yield Line("Ratings that would do", "plain", would, "Of those that are sold as blades.")


def _battery(form: BatteryForm, limits: Limits) -> Iterator[Line]:
    told = form.cleaned_data
    if form.number("volts") is not None:
        yield _charge(form, limits)
    drawn, hours = form.number("draw"), told["hours"]
    cell = Cell(form.number("capacity"), told["chemistry"])
    found = tow_hours(
        [Draw("all that is awake", drawn, Origin.MEASURED)] if drawn is not None else [],
        ah=cell.capacity(limits),
        leg_h=hours,
        charge_a=form.number("charge") or 0.0,
        usable=limits.value("usable_share"),
        exponent=cell.exponent(limits),
    )
    line = line_of(found.held, limits["usable_share"].source_words)
    if found.net_a is None:
        yield line
        return
    lasts = "" if found.held.value is None else found.held.value.words("h", 1)
    words = f"{lasts}. {found.words}" if lasts and hours is None else found.words
    yield Line("Hours it lasts", line.tone, line.verdict, words, line.source)


def _breakaway(form: BreakawayForm, limits: Limits) -> Iterator[Line]:
    cell = Cell(form.number("capacity"), form.cleaned_data["chemistry"])
    held = hold_minutes(cell, form.number("draw"), limits=limits)
    line = line_of(held, limits["hold_minutes"].source_words)
    words = f"{line.words} A reckoning is no test: only the brakes held on its current tell."
    yield Line("Minutes it holds, reckoned", line.tone, line.verdict, words, line.source)


def _charge(form: BatteryForm, limits: Limits) -> Line:
    table = limits[limits["flooded_table"].choice]
    found = charge_percent(
        form.number("volts"),
        chemistry=form.cleaned_data["chemistry"],
        hours_rested=form.cleaned_data["rested"],
        meter_share=limits.value("meter_share"),
        rest_hours=limits.value("rest_hours"),
        tables={"flooded": limits.curve(table.code)},
    )
    if isinstance(found, Unknown):
        return _unknown("Charge", *found.measure)
    said = "By the volts it rests at, the meter's error carried along."
    return Line("Charge", "plain", found.words("%", 0), said, table.source_words)
