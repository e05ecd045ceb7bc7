"""Does every fitted part get what it needs in every state? Findings, with computed cures.

``judge(sheet)`` answers every port of every fitting and every load of the car for ``drive``,
``tow`` and ``breakaway`` and compares that with what is demanded. Where ON is demanded only a
plain ON will do, where OFF is demanded only a plain OFF; TIMED, CONDITIONAL and UNKNOWN each
make a finding of their own.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal

from installs.domain import words
from installs.domain.cures import CureSearch
from installs.domain.findings import Code, Cure, Finding, Severity, gravest_first
from installs.domain.looks import brake_unit_findings, look_findings
from installs.domain.ports import Kind, KindPort, PortFeed
from installs.domain.procedural import procedure_findings, range_findings
from installs.domain.rated import rating_findings
from installs.domain.ratings import Ratings
from installs.domain.sheet import Fitting, Sheet
from installs.domain.views import Views, demands_of, meets
from vehicles.domain.answers import Answer, Value
from vehicles.domain.feedmap import Load
from vehicles.domain.fuse import CONTINUOUS_SHARE
from vehicles.domain.procedure import states_of
from vehicles.domain.state import STATE_NAMES, State

UNCONNECTED = PortFeed()


@dataclass(frozen=True)
class PortJudgement:
    """One port of a fitting, or one load of the car, in every state that was judged.

    ``component`` is the fitting's id or ``load:ID``; ``demands`` and ``answers`` are by state
    (``drive``, ``tow``, ``breakaway``, and ``tow+pedal`` where the kind asks for it).
    """

    component: str
    port: str
    label: str
    demands: Mapping[str, str]
    answers: Mapping[str, Answer]

    def met(self, state: str) -> bool:
        """Is what is demanded in this state given? A demand nobody recorded never is."""
        return meets(self.demands[state], self.answers[state])


@dataclass(frozen=True)
class Judgement:
    """All answers and findings of one sheet.

    ``views.paths[state].point("fuse:F08")`` answers for any point, for a drawn feed sheet.
    """

    ports: tuple[PortJudgement, ...]
    loads: tuple[PortJudgement, ...]
    findings: tuple[Finding, ...]
    views: Views

    @property
    def blocked(self) -> bool:
        """May the proof not be signed?"""
        return any(finding.blocking for finding in self.findings)

    def with_findings(self, more: Iterable[Finding]) -> Judgement:
        """The same judgement with further findings among its own, gravest first."""
        return replace(self, findings=gravest_first([*self.findings, *more]))

    def port(self, component: str, port: str) -> PortJudgement:
        """The judgement of one port. Raises ``KeyError`` where there is none."""
        for judged in (*self.ports, *self.loads):
            if (judged.component, judged.port) == (component, port):
                return judged
        raise KeyError((component, port))

    def of(self, component: str, port: str = "") -> tuple[Finding, ...]:
        """The findings about one component, or about one port of it."""
        return tuple(f for f in self.findings if f.component == component and port in ("", f.port))


def judge(
    sheet: Sheet,
    *,
    states: Mapping[str, State] | None = None,
    share: Decimal = CONTINUOUS_SHARE,
) -> Judgement:
    """Judge a sheet; ``states`` replaces the three states that its procedure gives.

    ``share`` is what of a fuse's rating a load may use before no margin is left.
    """
    return _Judge(sheet, states or states_of(sheet.procedure, sheet.feed_map), share).judgement()


@dataclass(frozen=True, slots=True)
class _Place:
    """One port of one fitting, as everything about it needs to be said."""

    fitting: Fitting
    kind: Kind
    port: KindPort
    connection: PortFeed
    label: str
    recorded: bool

    @property
    def user(self) -> str:
        return f"{self.fitting.id}.{self.port.name}"


class _Judge:
    def __init__(self, sheet: Sheet, states: Mapping[str, State], share: Decimal) -> None:
        self.sheet, self.share = sheet, share
        self.views = Views(sheet.feed_map, states)
        self.places = tuple(_places(sheet))
        self.ratings = Ratings(
            sheet.feed_map, ((p.user, p.port, p.connection) for p in self.places)
        )
        names = {place.user: place.label for place in self.places}
        self.search = CureSearch(self.views, self.ratings, sheet.kinds, names)
        self.findings: list[Finding] = []

    def judgement(self) -> Judgement:
        self.findings += procedure_findings(self.sheet.procedure, self.sheet.feed_map)
        self.findings += range_findings(self.sheet.range, self.sheet.vehicle)
        ports = tuple(self._port(place) for place in self.places)
        loads = tuple(self._load(load) for load in self.sheet.feed_map.loads)
        for place in self.places:
            self.findings += self._ratings(place)
        self.findings += self._looks()
        return Judgement(ports, loads, gravest_first(self.findings), self.views)

    def _looks(self) -> Iterator[Finding]:
        """What looks at the parts told, and what is missing for the parts to work together."""
        sheet = self.sheet
        yield from look_findings(sheet.looks, part="The vehicle", duty="", component="")
        for fitting in sheet.fittings:
            kind = sheet.kinds[fitting.kind]
            yield from look_findings(
                fitting.looks,
                part=sheet.part_name(fitting),
                duty=kind.duty,
                component=fitting.id,
                consequence=words.sentences(next((p.consequence for p in kind.ports), "")),
            )
        yield from brake_unit_findings(
            (sheet.kinds[f.kind].name, sheet.kinds[f.kind].duty) for f in sheet.fittings
        )

    def _ratings(self, place: _Place) -> Iterator[Finding]:
        def cures(code: Code) -> tuple[Cure, ...]:
            return self._cures(code, place, None)

        return rating_findings(
            place.port,
            place.connection,
            self.ratings,
            component=place.fitting.id,
            user=place.user,
            label=place.label,
            cures=cures,
            share=self.share,
        )

    def _port(self, place: _Place) -> PortJudgement:
        demands = demands_of(place.port)
        answers = {state: self.views.port(state, place.connection) for state in demands}
        judged = PortJudgement(place.fitting.id, place.port.name, place.label, demands, answers)
        if not place.recorded and any(d != "any" for d in demands.values()):
            self.findings.append(self._unconnected(place))
            return judged
        for found in self._unmet(judged, place.port.severity, place.port.consequence):
            cures = self._cures(found.code, place, answers[found.states[0]])
            self.findings.append(replace(found, cures=cures))
        self.findings += self._changeable(place, judged)
        return judged

    def _load(self, load: Load) -> PortJudgement:
        demands = {state: load.need(state) for state in STATE_NAMES}
        answers = {state: self.views.load(state, load) for state in STATE_NAMES}
        label = load.name or load.id
        judged = PortJudgement(f"load:{load.id}", "", label, demands, answers)
        for found in self._unmet(judged, load.severity, load.consequence):
            cures = words.measure_cures(found.code, answers[found.states[0]], label)
            if not self.views.states["tow"].unsettled:
                cures += self.search.for_load(found.code, load)
            self.findings.append(replace(found, cures=cures))
        return judged

    def _unmet(self, judged: PortJudgement, severity: str, consequence: str) -> Iterator[Finding]:
        """One finding for each way of failing; states that fail for one reason share it."""
        groups: dict[tuple[Code, str], list[str]] = {}
        for state, demand in judged.demands.items():
            answer = judged.answers[state]
            if meets(demand, answer):
                continue
            code = _code(demand, answer)
            why = "" if code is Code.NOT_RECORDED else answer.why
            groups.setdefault((code, why), []).append(state)
        for (code, why), states in groups.items():
            title = words.title(code, judged.label, judged.answers[states[0]], tuple(states))
            yield Finding(
                code=code,
                severity=Severity(severity),
                blocking=True,
                title=title,
                why=words.sentences(why, consequence),
                states=tuple(states),
                component=judged.component,
                port=judged.port,
            )

    def _cures(self, code: Code, place: _Place, answer: Answer | None) -> tuple[Cure, ...]:
        if code is Code.NOT_RECORDED:
            return words.measure_cures(code, answer, place.label)
        first: tuple[Cure, ...] = ()
        if answer is not None:
            first = words.measure_cures(code, answer, place.label)
        if self.views.states["tow"].unsettled:
            return first
        found = self.search.for_port(code, place.user, place.port, place.connection, answer)
        return first + found

    def _unconnected(self, place: _Place) -> Finding:
        return Finding(
            code=Code.FEED_NOT_RECORDED,
            severity=Severity(place.port.severity),
            blocking=True,
            title=f"Nobody recorded where {place.label} is connected.",
            why=words.sentences("", place.port.consequence),
            states=tuple(s for s, d in demands_of(place.port).items() if d != "any"),
            component=place.fitting.id,
            port=place.port.name,
            cures=self._cures(
                Code.FEED_NOT_RECORDED, place, self.views.port("tow", place.connection)
            ),
        )

    def _changeable(self, place: _Place, judged: PortJudgement) -> Iterator[Finding]:
        outlet = self.sheet.feed_map.elements.get(place.connection.feed)
        if getattr(outlet, "user_can_change", False):
            yield Finding(
                code=Code.CAN_BE_CHANGED,
                severity=Severity.NOTICE,
                blocking=False,
                title=f"The driver can change how {judged.label}'s outlet behaves.",
                why="A setting or switch decides it. Prove it again at each annual visit.",
                states=("tow",),
                component=judged.component,
                port=judged.port,
            )


def _places(sheet: Sheet) -> Iterator[_Place]:
    for fitting in sheet.fittings:
        kind = sheet.kinds[fitting.kind]
        name = sheet.part_name(fitting)
        for port in kind.ports:
            connection = fitting.ports.ports.get(port.name)
            label = f"{name}, {port.name.replace('_', ' ')}"
            yield _Place(
                fitting, kind, port, connection or UNCONNECTED, label, connection is not None
            )


def _code(demand: str, answer: Answer) -> Code:
    if demand not in ("on", "off"):
        return Code.NOT_RECORDED
    if answer.value is Value.UNKNOWN:
        return Code.NOT_KNOWN
    if demand == "off":
        return Code.STAYS_AWAKE
    return {
        Value.OFF: Code.NO_POWER,
        Value.TIMED: Code.TIMED_POWER,
        Value.CONDITIONAL: Code.CONDITIONAL_POWER,
    }[answer.value]
