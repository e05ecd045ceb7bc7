"""A judgement as plain text for a terminal, and as JSON values for other programs."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict
from typing import Any

from installs.domain.findings import Finding, state_words
from installs.domain.needs import Judgement, PortJudgement
from installs.domain.sheet import Sheet
from vehicles.domain.answers import Answer

WANTS = {"on": "wants ON", "off": "wants OFF", "any": "either will do"}
UNASKED = "requirement not recorded"


def lines(sheet: Sheet, judgement: Judgement) -> Iterator[str]:
    """The judgement line by line: answers with their reasons, then findings with cures."""
    yield sheet.name
    yield "=" * len(sheet.name)
    for title, group in (("Fitted parts", judgement.ports), ("The car itself", judgement.loads)):
        if group:
            yield ""
            yield title
            yield "-" * len(title)
            for judged in group:
                yield from _port_lines(judged)
    yield ""
    if judgement.findings:
        yield "What stands in the way, and what to see"
        yield "---------------------------------------"
        for finding in judgement.findings:
            yield from _finding_lines(finding)
        yield ""
    yield _closing(judgement)


def _port_lines(judged: PortJudgement) -> Iterator[str]:
    yield f"{judged.label}  [{judged.component}]"
    for state, answer in judged.answers.items():
        wanted = WANTS.get(judged.demands[state], UNASKED)
        mark = "" if judged.met(state) else "  <-- not met"
        name = state.replace("+pedal", ", pedal pressed")
        yield f"  {name:<24}{answer.words:<24}{wanted}{mark}".rstrip()
        yield f"      {_chain(answer)}"


def _chain(answer: Answer) -> str:
    parts = []
    for link in answer.chain:
        flag = "" if link.value == "ON" else f" [{link.value}]"
        parts.append(link.words + flag)
    return " > ".join(parts)


def _finding_lines(finding: Finding) -> Iterator[str]:
    blocks = " (blocks the sign-off)" if finding.blocking else ""
    yield f"{finding.severity}{blocks}: {finding.title}"
    if finding.why:
        yield f"  Why: {finding.why}"
    for number, cure in enumerate(finding.cures, 1):
        yield f"  Cure {number}: {cure.title}"
        for note in cure.notes:
            yield f"      {note}"


def _closing(judgement: Judgement) -> str:
    blocking = sum(finding.blocking for finding in judgement.findings)
    if blocking:
        noun = "finding blocks" if blocking == 1 else "findings block"
        return f"{blocking} {noun} the sign-off."
    return (
        "Nothing on this sheet blocks the sign-off. "
        "The proof is the measurement in the tow state; the makers' instructions come first."
    )


def as_json(sheet: Sheet, judgement: Judgement) -> dict[str, Any]:
    """The judgement as JSON values; see the keys written here."""
    return {
        "vehicle": sheet.name,
        "blocked": judgement.blocked,
        "ports": [_port_json(judged) for judged in judgement.ports],
        "loads": [_port_json(judged) for judged in judgement.loads],
        "findings": [asdict(finding) for finding in judgement.findings],
    }


def _port_json(judged: PortJudgement) -> dict[str, Any]:
    return {
        "component": judged.component,
        "port": judged.port,
        "label": judged.label,
        "states": {
            state: {
                "in_words": state_words(state),
                "demand": judged.demands[state],
                "met": judged.met(state),
                "answer": answer.value,
                "until_minutes": answer.until_minutes,
                "conditions": list(answer.conditions),
                "why": answer.why,
                "chain": [link._asdict() | {"is_break": link.is_break} for link in answer.chain],
            }
            for state, answer in judged.answers.items()
        },
    }
