"""Findings about the tow procedure itself: verdict, source, key, order, lamps."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from installs.domain.findings import Code, Cure, Finding, Severity
from vehicles.domain.feedmap import FeedMap, element_of
from vehicles.domain.fit import range_fit
from vehicles.domain.order import order_faults
from vehicles.domain.procedure import ALLOWED, NOT_ALLOWED, Procedure, Step
from vehicles.domain.stepwords import word_faults

SOURCE_WORDS = {"verbal": "It was told by word of mouth", "customer_says": "The customer says so"}


def procedure_findings(procedure: Procedure, feed_map: FeedMap) -> Iterator[Finding]:
    """Everything that can be said of a procedure before any part is looked at."""
    if procedure.verdict == NOT_ALLOWED:
        # A gearbox that seizes on the road locks the wheels, so this is more than a NOTICE.
        yield _finding(
            Code.NOT_ALLOWED,
            Severity.WARNING,
            "Towing on its own wheels is not allowed for this vehicle.",
            f"Source: {source_words(procedure)}.",
        )
        return
    if procedure.verdict != ALLOWED:
        yield _finding(
            Code.NOT_ESTABLISHED,
            Severity.WARNING,
            "No tow procedure is established for this vehicle.",
            "Whether and how it may be towed is in the vehicle maker's instructions.",
            Cure("record", "Record the procedure from the manual, with edition, page and date."),
        )
        return
    yield from _source_findings(procedure)
    yield from _key_findings(procedure)
    yield from _map_findings(procedure, feed_map)
    yield from _word_findings(procedure, feed_map)
    yield from _order_findings(procedure, feed_map)
    yield from _lamp_findings(procedure, feed_map)


def range_findings(span: Mapping[str, Any], vehicle: Mapping[str, Any]) -> Iterator[Finding]:
    """Was this procedure recorded for vehicles like this one?"""
    outside, missing = range_fit(span, vehicle)
    if outside:
        yield _finding(
            Code.OTHER_RANGE,
            Severity.WARNING,
            "This feed map and procedure were recorded for other vehicles.",
            " ".join(outside),
            Cure("record", "Read this vehicle's own manual and record its procedure."),
        )
    if missing:
        yield _finding(
            Code.RANGE_NOT_CONFIRMED,
            Severity.WARNING,
            "Nobody confirmed that this procedure is for this vehicle.",
            f"Not recorded of the vehicle: {', '.join(missing)}.",
            Cure("record", f"Ask for and record: {', '.join(missing)}."),
        )


def _finding(
    code: Code,
    severity: Severity,
    title: str,
    why: str,
    *cures: Cure,
    blocking: bool = True,
) -> Finding:
    return Finding(code, severity, blocking, title, why, ("tow",), "procedure", "", cures)


def source_words(procedure: Procedure) -> str:
    """Title, edition, page and day of reading in one text, else the sort of source."""
    source = procedure.source
    page = f"page {source.page}" if source.page else ""
    read = f"read {source.read_on}" if source.read_on else ""
    parts = (source.title, source.edition, page, read)
    return ", ".join(part for part in parts if part) or source.kind.replace("_", " ")


def _source_findings(procedure: Procedure) -> Iterator[Finding]:
    if not procedure.source.verified:
        said = SOURCE_WORDS.get(procedure.source.kind, "Nobody recorded where it comes from")
        yield _finding(
            Code.UNVERIFIED_SOURCE,
            Severity.WARNING,
            "The tow procedure is unverified: no document stands behind it.",
            f"{said}. No card can be printed from it.",
            Cure("record", "Attach the manual or bulletin: title, edition, page, date read."),
        )


def _key_findings(procedure: Procedure) -> Iterator[Finding]:
    stated = [step for step in procedure.steps if step.action == "key"]
    if not stated or stated[-1].value == "unknown":
        yield _finding(
            Code.KEY_NOT_STATED,
            Severity.WARNING,
            "The procedure does not say where the key stands while towed.",
            "The wrong position locks the steering or flattens the battery.",
            Cure("record", "Add the key step from the vehicle maker's instructions."),
        )


def _map_findings(procedure: Procedure, feed_map: FeedMap) -> Iterator[Finding]:
    """What a step pulls, connects or needs that the map lacks: no answer takes it into account.

    A sheet with such a step is refused, but a map can be corrected under a procedure in force.
    """
    for step in procedure.steps:
        for what, why, cure in _off_the_map(step, feed_map):
            yield _finding(
                Code.NOT_ON_MAP,
                Severity.WARNING,
                f"Step {step.no} {what}, which is not on the feed map: {why}.",
                "The answers below leave it out.",
                Cure("record", cure),
            )


def _off_the_map(step: Step, feed_map: FeedMap) -> Iterator[tuple[str, str, str]]:
    """What the step does with a point that is not there, what follows, what to record."""
    target = step.target
    if step.action == "fuse_out" and f"fuse:{target}" not in feed_map.elements:
        cure = f"Record {target} on the map, or the fuse that is meant in step {step.no}. "
        cure += f"Fuses there: {feed_map.fuse_names}."
        yield f"pulls {target}", "nobody knows what goes dead with it", cure
    elif ":" in target and element_of(target) not in feed_map.elements:
        cure = f"Record {target} on the map, or correct step {step.no}."
        yield f"names {target}", "nobody knows what it does there", cure
    if step.action == "charge_connect" and feed_map.charge_line is None:
        cure = "Record where the coach's charge line lands, and its ground."
        yield "connects the coach's charge line", "nobody knows what it keeps alive", cure
    if step.needs_live and step.needs_live not in feed_map.points:
        cure = f"Record {step.needs_live} on the map, or correct step {step.no}. "
        cure += f"Fuses there: {feed_map.fuse_names}."
        yield f"needs {step.needs_live}", "nobody knows whether it is alive by then", cure


def _word_findings(procedure: Procedure, feed_map: FeedMap) -> Iterator[Finding]:
    """Words against fuses. Such a sheet is refused, but a revision may be older than the check."""
    for fault in word_faults(procedure.steps, feed_map):
        yield _finding(
            Code.FUSE_IN_WORDS,
            Severity.WARNING,
            fault.sentence,
            "Whoever goes by the words pulls something else than was judged.",
            Cure("record", fault.remedy),
        )


def _order_findings(procedure: Procedure, feed_map: FeedMap) -> Iterator[Finding]:
    for fault in order_faults(procedure, feed_map):
        cures = (Cure("reorder", fault.proposal),) if fault.proposal else ()
        yield _finding(
            Code.STEP_ORDER,
            Severity.CAUTION,
            f"Step {fault.step}: {fault.sentence}",
            "",
            *cures,
        )


def _lamp_findings(procedure: Procedure, feed_map: FeedMap) -> Iterator[Finding]:
    if not feed_map.automatic_lamps:
        return
    stated = [step for step in procedure.steps if step.action == "lamp_switch"]
    if not stated or stated[-1].value != "off":
        yield _finding(
            Code.LAMP_SWITCH,
            Severity.NOTICE,
            "The car switches its lamps by itself, and the procedure does not turn them off.",
            "Left on AUTO they come on at dusk and empty the battery.",
            Cure("record", "Add a step: lamp switch OFF, not AUTO."),
            blocking=False,
        )
