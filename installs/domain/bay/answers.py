"""Reading an answer as a person gave it: what it is, whether it passes, and why not.

``read_answer`` takes the raw values of a form or of a tablet's queue. Bad input raises
`AnswerError` with a sentence for each field; a value that is well given and too low is no bad
input but a step that failed, and its ``sentence`` says against which limit.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from installs.domain.bay.progress import StepState
from installs.domain.measured import Measured, Wanted, proof_faults
from vehicles.domain.limit_set import START, Limits
from vehicles.domain.normal import squeeze
from vehicles.domain.numbers import NumberError, parse_number
from vehicles.domain.units import RULES, UnitError, parse, to_display
from vehicles.domain.units import Kind as Quantity

LONGEST_TEXT, LONGEST_LINE, LONGEST_DRAWING = 4_000, 200, 60_000
_DRAWN = re.compile(r"[MLQCHVZmlqchvz0-9 ,.\-]+")
_CLOCK = re.compile(r"([0-9]{1,4}):([0-5]?[0-9])")
_YES = frozenset({True, "on", "true", "yes", "1"})
SECONDS_A_MINUTE = 60

Raw = Mapping[str, Any]


class AnswerError(ValueError):
    """The answer cannot be taken; ``faults`` holds a sentence by field."""

    def __init__(self, **faults: str) -> None:
        super().__init__(" ".join(faults.values()))
        self.faults = faults


@dataclass(frozen=True, slots=True)
class Context:
    """Who answers, what the records hold (``vin_tail``, ``plate``), and values of a group.

    ``others`` are the values of the same ``group`` given before, by their words; ``limits`` are
    those that the shop has in force.
    """

    by_id: int | None = None
    by: str = ""
    expects: Mapping[str, str] = field(default_factory=dict)
    others: Mapping[str, float] = field(default_factory=dict)
    limits: Limits = START


@dataclass(frozen=True, slots=True)
class Read:
    """A well given answer: the state it brings the step to, its value (JSON), and a sentence."""

    state: StepState
    value: dict[str, Any]
    sentence: str = ""


def read_answer(kind: str, doc: Mapping[str, Any], raw: Raw, context: Context) -> Read:
    """Return the answer that `raw` gives to a step of `kind`. Raises AnswerError.

    ``outcome`` of `raw` is ``answer`` (the default), ``not_applicable`` or ``declined``, the last
    two with a ``reason``, declined also with the customer's name or drawing (``signed``).
    """
    outcome = _line(raw, "outcome") or "answer"
    if outcome == "not_applicable":
        return _left_out(doc, raw)
    if outcome == "declined":
        return _declined(doc, raw)
    if outcome != "answer":
        raise AnswerError(outcome="Answer the step, leave it out, or have it declined.")
    read = _READERS[kind](doc, raw, context)
    note = _text(raw, "note", LONGEST_TEXT)
    return Read(read.state, {**read.value, "note": note}, read.sentence) if note else read


def _left_out(doc: Mapping[str, Any], raw: Raw) -> Read:
    if not doc.get("may_skip"):
        raise AnswerError(outcome="This step cannot be left out.")
    reason = _text(raw, "reason", LONGEST_TEXT)
    if not reason:
        raise AnswerError(reason="Say why it does not apply.")
    return Read(StepState.NOT_APPLICABLE, {"reason": reason}, reason)


def _declined(doc: Mapping[str, Any], raw: Raw) -> Read:
    if not doc.get("may_decline"):
        raise AnswerError(outcome="The customer cannot decline this step.")
    reason, signed = _text(raw, "reason", LONGEST_TEXT), _signed(raw)
    if not reason:
        raise AnswerError(reason="Write what the customer declines, in their words.")
    if not signed:
        raise AnswerError(typed="Declining takes the customer's name or signature.")
    return Read(StepState.DECLINED, {"reason": reason, **signed}, f"Declined: {reason}")


def _tick(doc: Mapping[str, Any], raw: Raw, context: Context) -> Read:
    if raw.get("done") not in _YES:
        raise AnswerError(done="Tick it once it is done.")
    return Read(StepState.PASSED, {"done": True})


def _choice(doc: Mapping[str, Any], raw: Raw, context: Context) -> Read:
    chosen = _line(raw, "choice")
    expected = context.expects.get(doc["ask"].get("equals", ""), "")
    for choice in doc["choices"]:
        if choice["value"] == chosen:
            if choice.get("good", True) and expected and chosen != expected:
                told = f"{choice['words']}: the records say otherwise ({expected})."
                return Read(StepState.FAILED, {"choice": chosen, "expected": expected}, told)
            state = StepState.PASSED if choice.get("good", True) else StepState.FAILED
            return Read(state, {"choice": chosen, "words": choice["words"]}, choice["words"])
    raise AnswerError(choice="Choose one of the answers.")


def _number(doc: Mapping[str, Any], raw: Raw, context: Context) -> Read:
    ask = doc["ask"]
    kind, unit = Quantity(ask["quantity"]), ask["unit"]
    try:
        given = parse(kind, str(raw.get("number", "")), _line(raw, "unit") or None)
    except UnitError as fault:
        raise AnswerError(number=str(fault)) from fault
    value = float(to_display(kind, given.canonical, unit))
    kept = {
        "number": str(given.value),
        "unit": given.unit,
        "canonical": str(given.canonical),
        "typed": given.typed,
    }
    least, at = ask.get("least"), ""
    if ask.get("table") == "load_test":
        celsius = _temperature(raw)
        table = context.limits.curve(context.limits["load_test_table"].choice)
        least, at = table.step(float(celsius)), f" at {celsius:g} °C"
        kept["temperature_c"] = str(celsius)
    sentence = _limit_sentence(ask, value, least, at) or _apart(ask, value, context)
    return Read(StepState.FAILED if sentence else StepState.PASSED, kept, sentence)


def _temperature(raw: Raw) -> Decimal:
    try:
        given = parse(
            Quantity.TEMPERATURE, str(raw.get("temperature", "")), _line(raw, "degrees") or None
        )
    except UnitError as fault:
        raise AnswerError(temperature=str(fault)) from fault
    return given.canonical


def _limit_sentence(ask: Raw, value: float, least: float | None, at: str) -> str:
    label = RULES[Quantity(ask["quantity"])].units[ask["unit"]].label
    source = f" ({ask['source']})" if ask.get("source") else ""
    if least is not None and value < least:
        return f"{value:g} {label}; at least {least:g} {label}{at} is wanted{source}."
    most = ask.get("most")
    if most is not None and value > most:
        return f"{value:g} {label}; at most {most:g} {label}{at} is wanted{source}."
    return ""


def _apart(ask: Raw, value: float, context: Context) -> str:
    if ask.get("apart") is None:
        return ""
    label = RULES[Quantity(ask["quantity"])].units[ask["unit"]].label
    for words, other in context.others.items():
        if abs(value - other) > ask["apart"]:
            return (
                f"{value:g} {label} against {other:g} {label} ({words}): "
                f"more than {ask['apart']:g} {label} apart. Find out why."
            )
    return ""


def wanted_of(doc: Mapping[str, Any]) -> Wanted:
    """Return the value that a step of kind ``volts`` is to prove."""
    return Wanted(
        doc["part"], doc["port"], doc["state"], doc["demand"], doc["words"], doc["timer_minutes"]
    )


def _volts(doc: Mapping[str, Any], raw: Raw, context: Context) -> Read:
    want = wanted_of(doc)
    driving = want.state.startswith("drive")
    volts = _plain_number(raw, "volts", signed=True)
    minutes = None if driving else _plain_number(raw, "minutes")
    reading = Measured(want.component, want.port, want.state, volts, minutes)
    alive = context.limits.value("port_volts")
    sentence = proof_faults([want], [reading], alive_volts=alive).get(want.key, "")
    value: dict[str, Any] = {"volts": volts, "typed": str(raw.get("volts", "")).strip()}
    if minutes is not None:
        value["minutes"] = minutes
    return Read(StepState.FAILED if sentence else StepState.PASSED, value, sentence)


def _plain_number(raw: Raw, name: str, *, signed: bool = False) -> float:
    text = str(raw.get(name, "")).strip()
    if not text:
        asked = {
            "volts": "Measure the volts here. Nothing measured is not proven.",
            "minutes": "Say how many minutes after key-off it was measured.",
        }
        raise AnswerError(**{name: asked[name]})
    if name == "volts":
        try:
            return float(
                parse(Quantity.VOLTAGE, text, None if text[-1].isalpha() else "V").canonical
            )
        except UnitError as fault:
            raise AnswerError(volts=str(fault)) from fault
    try:
        return float(parse_number(text, signed=signed))
    except NumberError as fault:
        raise AnswerError(**{name: str(fault)}) from fault


def _words(doc: Mapping[str, Any], raw: Raw, context: Context) -> Read:
    text = _text(raw, "text", LONGEST_TEXT)
    if not text:
        raise AnswerError(text="Write it down in a few words.")
    return Read(StepState.PASSED, {"text": text})


def _scan(doc: Mapping[str, Any], raw: Raw, context: Context) -> Read:
    text = _line(raw, "text")
    if not text:
        raise AnswerError(text="Scan it, or type what it says.")
    expected = context.expects.get(doc["ask"].get("equals", ""), "")
    # A whole VIN and its tail alone say the same.
    if expected and not squeeze(text).endswith(squeeze(expected)):
        told = f"“{text}” was read; the records say {expected}. Is this the right vehicle?"
        return Read(StepState.FAILED, {"text": text, "expected": expected}, told)
    return Read(StepState.PASSED, {"text": text})


def _photo(doc: Mapping[str, Any], raw: Raw, context: Context) -> Read:
    photos = raw.get("photos") or []
    if isinstance(photos, str):
        photos = [part for part in photos.split(",") if part]
    if not photos:
        raise AnswerError(photos="Take at least one photo.")
    return Read(StepState.PASSED, {"photos": [str(photo)[:40] for photo in photos]})


def _timer(doc: Mapping[str, Any], raw: Raw, context: Context) -> Read:
    text = str(raw.get("seconds", "")).strip()
    clock = _CLOCK.fullmatch(text)
    if not text:
        raise AnswerError(seconds="Run the timer, or write the time as minutes:seconds.")
    try:
        seconds = (
            int(clock[1]) * SECONDS_A_MINUTE + int(clock[2]) if clock else float(parse_number(text))
        )
    except NumberError as fault:
        raise AnswerError(seconds=str(fault)) from fault
    least = doc["ask"]["least"]
    value = {"seconds": seconds}
    if seconds >= least:
        return Read(StepState.PASSED, value)
    source = f" ({doc['ask']['source']})" if doc["ask"].get("source") else ""
    told = f"It held for {_clock(seconds)}; at least {_clock(least)} is wanted{source}."
    return Read(StepState.FAILED, value, told)


def _clock(seconds: float) -> str:
    minutes, rest = divmod(int(seconds), SECONDS_A_MINUTE)
    return f"{minutes}:{rest:02d} min"


def _second_person(doc: Mapping[str, Any], raw: Raw, context: Context) -> Read:
    name = _line(raw, "second")
    if not name:
        raise AnswerError(second="Name the person who looked a second time.")
    if squeeze(name) == squeeze(context.by):
        raise AnswerError(second="The second person is somebody other than yourself.")
    return Read(StepState.PASSED, {"second": name})


def _person(doc: Mapping[str, Any], raw: Raw, context: Context) -> Read:
    shown, alone = raw.get("shown") in _YES, raw.get("alone") in _YES
    if not shown:
        raise AnswerError(shown="Show it first.")
    if not alone:
        told = f"{doc['person']} was shown, and has not done it alone yet."
        return Read(StepState.FAILED, {"shown": True, "alone": False}, told)
    return Read(StepState.PASSED, {"shown": True, "alone": True})


def _signature(doc: Mapping[str, Any], raw: Raw, context: Context) -> Read:
    refused = _text(raw, "refused", LONGEST_TEXT)
    if refused:
        # A refusal is recorded and closes the step: nobody can be made to sign.
        return Read(StepState.DECLINED, {"refused": refused}, f"Signature refused: {refused}")
    signed = _signed(raw)
    if not signed.get("typed"):
        raise AnswerError(typed="Write the name of the person who signs.")
    return Read(StepState.PASSED, signed)


def _signed(raw: Raw) -> dict[str, str]:
    typed, drawn = _line(raw, "typed"), str(raw.get("drawn") or "")
    if drawn and (len(drawn) > LONGEST_DRAWING or not _DRAWN.fullmatch(drawn)):
        raise AnswerError(
            drawn="The drawing did not arrive whole. Draw it again, or type the name."
        )
    return {name: text for name, text in (("typed", typed), ("drawn", drawn)) if text}


def _part(doc: Mapping[str, Any], raw: Raw, context: Context) -> Read:
    raise AnswerError(outcome="This step is answered by the entry in the records.")


def _line(raw: Raw, name: str) -> str:
    return " ".join(_text(raw, name, LONGEST_LINE).split())


def _text(raw: Raw, name: str, longest: int) -> str:
    text = str(raw.get(name) or "").strip().replace("\x00", "")
    if len(text) > longest:
        raise AnswerError(**{name: f"This is longer than {longest} characters."})
    return text


_READERS: dict[str, Callable[[Mapping[str, Any], Raw, Context], Read]] = {
    "tick": _tick,
    "choice": _choice,
    "number": _number,
    "volts": _volts,
    "text": _words,
    "scan": _scan,
    "photo": _photo,
    "timer": _timer,
    "second_person": _second_person,
    "part": _part,
    "person": _person,
    "signature": _signature,
}
