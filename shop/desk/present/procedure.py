"""A tow procedure as a person does it: steps with the cautions of the hand, limits, source."""

from datetime import date
from typing import Any

from installs.domain.intervals import in_words
from vehicles.domain import towlimits
from vehicles.domain.procedure import NOT_ALLOWED, Procedure, Source, Step

SOURCE_WORDS = {
    "document": "document",
    "bulletin": "maker's bulletin",
    "verbal": "said to us",
    "customer_says": "the customer says",
    "measured": "measured in the shop",
    "": "no source recorded",
}

# Common practice, no source; the makers' own cautions come first and differ by vehicle.
_ROLLS = "The vehicle may roll from here on: chock the wheels, nobody in front of or behind it."
_BATTERY = (
    "Eye protection on, metal off the hands. Wait as long as the maker says before work near "
    "airbags, and know the radio and window settings that will be lost."
)
_STEERING_LOCK = "The steering may lock: turn the wheel both ways by hand before anything is towed."
CAUTIONS: dict[tuple[str, str], tuple[str, str]] = {
    ("disconnect_open", ""): ("WARNING", _BATTERY),
    ("parking_brake", "release"): ("WARNING", _ROLLS),
    ("gear", ""): ("WARNING", _ROLLS),
    ("transfer_case", ""): ("WARNING", _ROLLS),
    ("key", "removed"): ("WARNING", _STEERING_LOCK),
    ("key", "off"): ("WARNING", _STEERING_LOCK),
    ("engine_run", ""): ("WARNING", "Exhaust gas: only in the open, brake set, wheels chocked."),
    ("fuse_out", ""): ("NOTICE", "Use the fuse puller; keep the fuse where it cannot be mistaken."),
    ("charge_connect", ""): (
        "NOTICE",
        "Look at the pins first: green or loose, they carry nothing.",
    ),
}


def shown(procedure: Procedure) -> dict[str, Any]:
    """Return the procedure for parts/procedure.html."""
    return {
        "verdict": procedure.verdict,
        "steps": [_step(step) for step in procedure.steps],
        "reverse": [{"no": number, "words": words} for number, words in procedure.reverse_steps()],
        "limits": list(towlimits.texts(procedure.limits)),
        "source": source_words(procedure.source),
        "hearsay": not procedure.source.verified and bool(procedure.steps),
    }


def not_towed(procedure: Procedure) -> str:
    """Return the sentence for a vehicle whose source forbids it; "" for any other."""
    if procedure.verdict != NOT_ALLOWED:
        return ""
    return f"Not to be towed on its own wheels ({source_words(procedure.source)})"


def _step(step: Step) -> dict[str, Any]:
    found = CAUTIONS.get((step.action, str(step.value))) or CAUTIONS.get((step.action, ""))
    notes = []
    if step.after:
        numbers = " and ".join(map(str, step.after))
        notes.append(f"Only after step {numbers}.")
    if step.needs_live:
        notes.append(f"Needs {step.needs_live} alive.")
    return {
        "no": step.no,
        "words": step.words,
        "caution": {"word": found[0], "text": found[1]} if found else None,
        "note": " ".join(notes),
    }


def source_words(source: Source) -> str:
    """Return the source in one line: kind, title, edition, page, when read and by whom."""
    said = [SOURCE_WORDS.get(source.kind, source.kind)]
    said += [text for text in (source.title, source.edition) if text]
    if source.page:
        said.append(f"page {source.page}")
    if source.read_on:
        said.append(f"read {read_day(source.read_on)}")
    if source.read_by:
        said.append(f"by {source.read_by}")
    return ", ".join(said)


def read_day(iso: str) -> str:
    """Return an ISO date of a source in words, the text itself where it is none."""
    try:
        return in_words(date.fromisoformat(iso))
    except ValueError:
        return iso
