"""What the numbers of a vehicle find: too few volts, a wire its fuse does not guard, open doubts.

``numeric_findings`` is part of the judgement that a person reads and never of a proof's basis.
A proof holds what was measured at every port, and a reading goes before any reckoning: where one
was taken it is held against the limit, and what was reckoned is only shown beside it. So a
changed limit asks for a new proof exactly where a reading no longer meets it, or where a fuse
or a wire now fails.

What surely fails blocks. What is too close to call or not known does not block by itself,
because a signature asks for the very reading that settles it; it is told once for the whole
vehicle, with the one measurement that would settle most. UNKNOWN stays UNKNOWN until then.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from enum import Enum

from installs.domain.findings import Code, Cure, Finding, Severity, join_states
from installs.domain.needs import Judgement, PortJudgement
from installs.domain.numeric import FuseAmps, PortVolts
from installs.domain.port_wires import wire_verdicts
from installs.domain.reckoned import Numbers
from installs.domain.sheet import Sheet
from installs.domain.words import sentences
from vehicles.domain.answers import Value
from vehicles.domain.bands import Band, Verdict
from vehicles.domain.circuit import Known
from vehicles.domain.fuse import FuseVerdict, Side

# Volts that were measured, by (component, port, state).
Volts = Mapping[tuple[str, str, str], float]
NAMED = 4
_GRAVE = {Side.WIRE_TOO_SMALL: Code.WIRE_TOO_SMALL, Side.FUSE_TOO_LARGE: Code.FUSE_TOO_LARGE}
_ORDER = (Side.WIRE_TOO_SMALL, Side.FUSE_TOO_LARGE, Side.FUSE_TOO_SMALL, Side.CLOSE, Side.UNKNOWN)


@dataclass
class _Open:
    """What nobody can tell yet, over the whole vehicle."""

    close: dict[str, PortVolts] = field(default_factory=dict)
    unknown: dict[str, PortVolts] = field(default_factory=dict)
    fuses: list[str] = field(default_factory=list)

    def take(self, label: str, port: PortVolts) -> None:
        """Note a port whose volts are too close to call or not known; the rest is told."""
        verdict = port.held.verdict if port.held else None
        if verdict is Verdict.CLOSE:
            self.close.setdefault(label, port)
        elif verdict is Verdict.UNKNOWN:
            self.unknown.setdefault(label, port)


def numeric_findings(
    sheet: Sheet, judgement: Judgement, numbers: Numbers, measured: Volts
) -> tuple[Finding, ...]:
    """The findings of ``numbers``; ``measured`` are readings that count for the vehicle as it is.

    ``numbers`` are those of ``sheet`` as ``judgement`` judged it. A port that is dead, asked to
    be dead or not settled has its finding there already and none here.
    """
    doubts = _Open()
    found = list(_of_ports(sheet, judgement, numbers, measured, doubts))
    found += _of_fuses(judgement, numbers, doubts)
    found += _of_wires(sheet, numbers)
    found += _of_shorts(numbers)
    found += _of_doubts(judgement, numbers, doubts)
    return tuple(found)


# -- ports ---------------------------------------------------------------------------------


def _of_ports(
    sheet: Sheet, judgement: Judgement, numbers: Numbers, measured: Volts, doubts: _Open
) -> Iterator[Finding]:
    severities = {
        (fitting.id, port.name): Severity(port.severity)
        for fitting in sheet.fittings
        for port in sheet.kinds[fitting.kind].ports
    }
    for judged in judgement.ports:
        severity = severities[judged.component, judged.port]
        yield from _of_port(judged, numbers, measured, severity, doubts)


def _of_port(
    judged: PortJudgement, numbers: Numbers, measured: Volts, severity: Severity, doubts: _Open
) -> Iterator[Finding]:
    sorted_out: dict[_Case, list[str]] = {}
    for state, demand in judged.demands.items():
        if demand == "on" and judged.answers[state].value is Value.ON:
            found = numbers.port(state, judged.component, judged.port)
            read = measured.get((judged.component, judged.port, state))
            sorted_out.setdefault(_case(found, read, numbers), []).append(state)
            if found and read is None:
                doubts.take(judged.label, found)
    if low := sorted_out.get(_Case.MEASURED_LOW):
        yield _measured_low(judged, numbers, measured, severity, low)
    if fails := sorted_out.get(_Case.COMPUTED_LOW):
        yield _computed_low(judged, numbers, severity, fails)
    elif apart := sorted_out.get(_Case.APART):
        yield _disagree(judged, numbers, measured, apart)


class _Case(Enum):
    """How a port that should be alive stands in one state."""

    MEASURED_LOW = 1
    COMPUTED_LOW = 2
    APART = 3
    NOTHING = 4


def _case(found: PortVolts | None, read: float | None, numbers: Numbers) -> _Case:
    fails = bool(found and found.held and found.held.verdict is Verdict.FAIL)
    if read is None:
        return _Case.COMPUTED_LOW if fails else _Case.NOTHING
    if read < numbers.limits.value("port_volts"):
        return _Case.MEASURED_LOW
    return _Case.APART if fails else _Case.NOTHING


def _limit_words(numbers: Numbers) -> str:
    setting = numbers.limits["port_volts"]
    return f"The limit of {setting.words_of_value}: {setting.source_words}."


def _measured_low(
    judged: PortJudgement,
    numbers: Numbers,
    measured: Volts,
    severity: Severity,
    states: list[str],
) -> Finding:
    least = numbers.limits.value("port_volts")
    read = min(measured[judged.component, judged.port, state] for state in states)
    found = numbers.port(states[0], judged.component, judged.port)
    computed = f" Computed: {_volts(found.volts)}." if found and found.volts else ""
    return Finding(
        Code.VOLTS_TOO_LOW,
        severity,
        blocking=True,
        title=f"{judged.label}: {read:g} V measured {join_states(tuple(states))}, "
        f"at least {least:g} V wanted.",
        why=sentences(_limit_words(numbers), computed),
        states=tuple(states),
        component=judged.component,
        port=judged.port,
    )


def _computed_low(
    judged: PortJudgement, numbers: Numbers, severity: Severity, states: list[str]
) -> Finding:
    worst = min(
        (port for s in states if (port := numbers.port(s, judged.component, judged.port))),
        key=lambda port: port.volts.high if port.volts else 0.0,
    )
    least = numbers.limits.value("port_volts")
    lost = next((one for one in numbers.states[states[0]].losses if one.volts > 0), None)
    most = f"Most is lost in {lost.label}: {lost.volts:.1f} V." if lost else ""
    return Finding(
        Code.VOLTS_TOO_LOW,
        severity,
        blocking=True,
        title=f"{judged.label}: computed {_volts(worst.volts)} {join_states(tuple(states))}, "
        f"at least {least:g} V wanted.",
        why=sentences(most, _limit_words(numbers)),
        states=tuple(states),
        component=judged.component,
        port=judged.port,
        cures=(
            Cure(
                "measure",
                f"Measure the volts at {judged.label} while it works; {least:g} V or more "
                "settles it.",
            ),
        ),
    )


def _disagree(
    judged: PortJudgement, numbers: Numbers, measured: Volts, states: list[str]
) -> Finding:
    state = states[0]
    found = numbers.port(state, judged.component, judged.port)
    read = measured[judged.component, judged.port, state]
    computed = _volts(found.volts if found else None)
    return Finding(
        Code.READINGS_DISAGREE,
        Severity.CAUTION,
        blocking=False,
        title=f"{judged.label}: {read:g} V measured, but {computed} computed "
        f"{join_states(tuple(states))}.",
        why="The reading counts. Was it taken while the part worked? If so, what is recorded of "
        "its wire, its current or its ground is wrong.",
        states=tuple(states),
        component=judged.component,
        port=judged.port,
    )


def _volts(volts: Band | None) -> str:
    return volts.words("V", 1) if volts else "nothing"


# -- fuses and wires -----------------------------------------------------------------------


def _of_fuses(judgement: Judgement, numbers: Numbers, doubts: _Open) -> Iterator[Finding]:
    told = [f.title for f in judgement.findings if f.code in (Code.FUSE_OVERLOADED, Code.NO_MARGIN)]
    worst: dict[str, FuseAmps] = {}
    for state in numbers.states.values():
        for name, fuse in state.fuses.items():
            known = worst.get(name)
            if known is None or _rank(fuse.verdict) < _rank(known.verdict):
                worst[name] = fuse
    for name, fuse in worst.items():
        side = fuse.verdict.side
        if side in _GRAVE:
            yield _guards_not(_GRAVE[side], f"fuse:{name}", name, fuse.verdict)
        elif side is Side.FUSE_TOO_SMALL and not any(t.startswith(f"{name}:") for t in told):
            yield Finding(
                Code.NO_MARGIN, Severity.CAUTION, blocking=False,
                title=f"{name}: {fuse.amps.words('A', 1)} through it leaves no margin.",
                why=fuse.verdict.words, component=f"fuse:{name}",
            )  # fmt: skip
        elif side is Side.CLOSE:
            doubts.fuses.append(name)


def _rank(verdict: FuseVerdict) -> int:
    return _ORDER.index(verdict.side) if verdict.side in _ORDER else len(_ORDER)


def _guards_not(code: Code, component: str, label: str, verdict: FuseVerdict) -> Finding:
    """A wire that gives way before its fuse does: never cured by a bigger fuse."""
    said = "wire too small" if code is Code.WIRE_TOO_SMALL else "fuse too large for the wire"
    return Finding(
        code,
        Severity.WARNING,
        blocking=True,
        title=f"{label}: {said}.",
        why=sentences(verdict.words.removeprefix("Wire too small: ")),
        component=component.partition(".")[0],
        port=component.partition(".")[2],
    )


def _of_wires(sheet: Sheet, numbers: Numbers) -> Iterator[Finding]:
    source = numbers.limits["ampacity"].source_words
    for user, label, verdict in wire_verdicts(sheet, numbers.limits):
        if verdict.side in _GRAVE:
            found = _guards_not(_GRAVE[verdict.side], user, label, verdict)
            yield Finding(
                found.code, found.severity, found.blocking, found.title,
                sentences(found.why, f"What the wire may carry: {source}"),
                component=found.component, port=found.port,
            )  # fmt: skip


def _of_shorts(numbers: Numbers) -> Iterator[Finding]:
    notes = {note: name for name, state in numbers.states.items() for note in state.notes}
    for note in notes:
        if "shorted" in note:
            states = tuple(name for name, state in numbers.states.items() if note in state.notes)
            yield Finding(
                Code.SHORTED, Severity.WARNING, blocking=True, title=note,
                why="Look for a wrong connection on the feed map before anything is measured.",
                states=states,
            )  # fmt: skip


# -- what stays open -----------------------------------------------------------------------


def _of_doubts(judgement: Judgement, numbers: Numbers, doubts: _Open) -> Iterator[Finding]:
    if numbers.fault and judgement.ports:
        yield Finding(
            Code.NUMBERS_NOT_KNOWN, Severity.NOTICE, blocking=False,
            title="The volts and amps of this vehicle cannot be worked out.",
            why=sentences(numbers.fault, "What is alive and what is dead stands without them"),
        )  # fmt: skip
    if doubts.unknown:
        yield _not_known(doubts.unknown)
    close = [*doubts.close, *doubts.fuses]
    if close:
        yield Finding(
            Code.TOO_CLOSE, Severity.CAUTION, blocking=False,
            title=f"Too close to call: {_listed(close)}.",
            why=sentences(
                f"With the figures recorded the volts may or may not reach "
                f"{numbers.limits.value('port_volts'):g} V" if doubts.close else "",
                "the load may or may not be too much for the fuse" if doubts.fuses else "",
            ),
            cures=_best(doubts.close.values()),
        )  # fmt: skip


def _not_known(ports: Mapping[str, PortVolts]) -> Finding:
    asked = Counter(m for port in ports.values() for m in (port.held.measure if port.held else ()))
    first = asked.most_common(1)[0][0] if asked else "measure the volts there"
    what = "The volts cannot be computed at" if len(ports) > 1 else "Volts not known at"
    return Finding(
        Code.VOLTS_NOT_KNOWN,
        Severity.NOTICE,
        blocking=False,
        title=f"{what} {_listed(list(ports))}.",
        why="It is alive; by how much, nobody recorded enough to say. The proof asks for a "
        "reading there.",
        cures=(Cure("measure", f"{first[0].upper()}{first[1:]}."),),
    )


def _best(ports: Iterable[PortVolts]) -> tuple[Cure, ...]:
    """The one measurement that would narrow most volts over all ``ports``."""
    volts: Counter[str] = Counter()
    for port in ports:
        for doubt in port.doubts:
            if doubt.known is not Known.MEASURED:
                volts[doubt.measure] += doubt.volts  # type: ignore[assignment]
    if not volts:
        return ()
    text, hangs = volts.most_common(1)[0]
    note = f"It decides over {hangs:.1f} V in all." if hangs else ""
    return (Cure("measure", f"{text[0].upper()}{text[1:]}.", (note,) * bool(note)),)


def _listed(names: list[str]) -> str:
    shown = "; ".join(names[:NAMED])
    more = len(names) - NAMED
    return f"{shown} and {more} more" if more > 0 else shown
