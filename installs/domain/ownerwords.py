"""What blocks, in the words of somebody who tows: for mails, which lead with it."""

from __future__ import annotations

from installs.domain.findings import Code, Finding, Severity
from installs.domain.needs import Judgement
from installs.domain.sheet import Sheet

MUST_NOT_BE_TOWED = "It must not be towed on its own wheels."
MOST = 6
_WHEN = {"drive": "when you drive", "tow": "while you tow", "breakaway": "after a breakaway"}
# What nobody knows is said once for all parts; the desk knows the single ones.
_UNSURE = "Nobody has confirmed yet that {part} has the power it needs {when}."
_OF_PARTS = {
    Code.NO_POWER: "{part} has no power {when}.",
    Code.TIMED_POWER: "{part} has power for a while only {when}, then none.",
    Code.CONDITIONAL_POWER: "{part} does not always have power {when}.",
    Code.STAYS_AWAKE: "{part} is powered {when} and has to be at rest then.",
    Code.NOT_KNOWN: _UNSURE,
    Code.NOT_RECORDED: _UNSURE,
    Code.FEED_NOT_RECORDED: _UNSURE,
    Code.RATING_NOT_KNOWN: "Nobody has confirmed yet that the feed of {part} is strong enough.",
    Code.SUPPLY_TOO_SMALL: "The feed of {part} is too weak for it.",
    Code.FUSE_OVERLOADED: "The fuse that feeds {part} can blow while it works.",
}


def told_to_owner(sheet: Sheet, judgement: Judgement) -> list[str]:
    """Return what blocks in plain sentences, at most ``MOST``; [] where nothing does."""
    blocking = [finding for finding in judgement.findings if finding.blocking]
    if any(finding.code is Code.NOT_ALLOWED for finding in blocking):
        return [MUST_NOT_BE_TOWED]
    names = {fitting.id: sheet.part_name(fitting) for fitting in sheet.fittings}
    names |= {f"load:{load.id}": load.name or load.id for load in sheet.feed_map.loads}
    # What is wrong goes before what is not known, what kills before what only empties a battery.
    told = dict.fromkeys(_sentence(finding, names) for finding in sorted(blocking, key=_weight))
    return list(told)[:MOST]


def _weight(finding: Finding) -> tuple[bool, bool]:
    grave = finding.severity in (Severity.DANGER, Severity.WARNING)
    return finding.is_unknown, not grave


def _sentence(finding: Finding, names: dict[str, str]) -> str:
    pattern, part = _OF_PARTS.get(finding.code), names.get(finding.component, "")
    if pattern is None or not part:
        return finding.title
    states = dict.fromkeys(state.partition("+")[0] for state in finding.states)
    said = pattern.format(part=part, when=" and ".join(_WHEN[state] for state in states)).strip()
    return said[0].upper() + said[1:]
