"""The sentences of the judgement: titles of findings, and what to measure or record."""

from __future__ import annotations

from installs.domain.findings import Code, Cure, join_states
from vehicles.domain.answers import Answer, Link, Value


def title(code: Code, label: str, answer: Answer, states: tuple[str, ...]) -> str:
    """One sentence that says what is wrong with ``label`` in ``states``."""
    where = join_states(states)
    held = _held(answer)
    return {
        Code.NO_POWER: f"{label}: dead {where}.",
        Code.TIMED_POWER: f"{label}: alive {held} only, {where}.",
        Code.CONDITIONAL_POWER: f"{label}: alive {held}, {where}.",
        Code.STAYS_AWAKE: f"{label}: alive {where} ({answer.words}), but must be at rest.",
        Code.NOT_KNOWN: f"{label}: nobody knows whether it is alive {where}.",
        Code.NOT_RECORDED: f"{label}: requirement not recorded, {where}.",
    }[code]


def _held(answer: Answer) -> str:
    _, _, rest = answer.words.partition(", ")
    return rest


def sentences(*parts: str) -> str:
    """Join texts to sentences: each with a capital and a full stop, empty ones left out."""
    done = []
    for part in parts:
        text = part.strip()
        if text:
            done.append(text[0].upper() + text[1:] + ("" if text[-1] in ".!?" else "."))
    return " ".join(done)


def measure_cures(code: Code, answer: Answer | None, label: str) -> tuple[Cure, ...]:
    """What to measure or record, naming the one thing that decides."""
    if code is Code.NOT_RECORDED:
        return (
            Cure(
                "record",
                f"Record whether {label} must be on or off in tow.",
                ("Take it from the vehicle maker's instructions, with edition and page.",),
            ),
        )
    if answer is None or answer.value is not Value.UNKNOWN or answer.deciding is None:
        return ()
    return (_to_measure(answer.deciding),)


def _to_measure(link: Link) -> Cure:
    point = link.point
    sort, _, name = point.partition(":")
    if sort in ("fuse", "terminal", "outlet", "relay"):
        what = f"the {sort} {name}" if sort != "fuse" else f"fuse {name}, both sides"
        return Cure(
            "measure",
            f"Measure volts at {what}: key as in the tow procedure, 35 minutes after key-off.",
            (f"What is missing: {link.words}.",),
        )
    fixed = {
        "switch": f"Find out when switch {name} closes, with a test lamp, and record it.",
        "ground": "Measure ohms from its ground wire to the battery's negative post, "
        "battery disconnect open.",
        "disconnect": "Record which leg the battery disconnect opens.",
        "coach": "Measure the charge line at the car, plugged in, and record it with its ground; "
        "let the procedure say whether it is plugged in.",
        "procedure": "Establish the tow procedure from the vehicle maker's manual, with edition "
        "and page.",
    }
    text = fixed.get(sort, "Follow the wire to where it is fed, record that, and measure there.")
    code = "record" if sort in ("disconnect", "procedure") else "measure"
    return Cure(code, text, (f"What is missing: {link.words}.",))
