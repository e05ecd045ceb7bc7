"""The ports of a judged vehicle as table rows and as the feed sheet's drawing."""

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from installs.domain.needs import Judgement, PortJudgement
from installs.domain.ports import PortFeed
from installs.domain.sheet import Sheet
from installs.domain.views import PEDAL, meets
from installs.models import Fitting
from shop.desk.pictures import feed_sheet
from shop.desk.present.numbers import Beside
from vehicles.domain.answers import Answer, Link, Value
from vehicles.domain.state import STATE_NAMES

STATUS = {Value.ON: "live", Value.OFF: "dead"}
DEMANDS = {"on": "ON", "off": "OFF"}
NOT_RECORDED = "not recorded"


def verdict(demand: str, answer: Answer) -> str:
    """Return ``good``, ``bad``, ``doubt``, or ``plain`` where nothing is asked."""
    if demand == "any":
        return "doubt" if answer.value is Value.UNKNOWN else "plain"
    if meets(demand, answer):
        return "good"
    return "bad" if demand in DEMANDS and answer.value in STATUS else "doubt"


def link_row(link: Link) -> dict[str, str]:
    """Return a link of a chain as parts/chain.html shows it."""
    drawn = feed_sheet.link_of(link.point, link.words, link.value.value)
    return {**drawn, "words": link.words}


def _names(fitting: Fitting | None, port: PortJudgement) -> tuple[str, str]:
    if fitting is None:
        return port.label, ""
    return fitting.component.kind.name, port.port.replace("_", " ")


def table(
    judgement: Judgement,
    sheet: Sheet,
    fittings: Mapping[str, Fitting],
    volts: Beside,
) -> list[dict[str, Any]]:
    """Return the fitted ports as rows of parts/feed_table.html, with their ``volts``."""
    connections = {fitting.id: fitting.ports.ports for fitting in sheet.fittings}
    rows = []
    for port in judgement.ports:
        connection = connections[port.component].get(port.port, PortFeed())
        row = _row(judgement, port, fittings[port.component], connection, volts)
        rows += [row] if not row["pedal"] else [row, row["pedal"]]
    return rows


def _row(
    judgement: Judgement,
    port: PortJudgement,
    fitting: Fitting,
    connection: PortFeed,
    volts: Beside,
) -> dict[str, Any]:
    part, name = _names(fitting, port)
    about = {"part": part, "serial": fitting.component.serial, "where": fitting.place}
    states = [_state(port, state, port.answers[state], volts) for state in STATE_NAMES]
    return {
        **about,
        "port": name,
        "states": states,
        "pedal": _with_pedal(judgement, port, connection, about, name),
    }


def _with_pedal(
    judgement: Judgement,
    port: PortJudgement,
    connection: PortFeed,
    about: Mapping[str, str],
    name: str,
) -> dict[str, Any] | None:
    """Return the row for the pressed brake pedal, where the part asks for something then."""
    if not any(state.endswith(PEDAL) for state in port.demands):
        return None
    states = []
    for state in STATE_NAMES:
        pressed = state + PEDAL
        answer = port.answers.get(pressed) or judgement.views.port(pressed, connection)
        states.append(_state(port, pressed, answer) | {"name": state})
    return {**about, "port": f"{name}, brake pedal pressed", "states": states}


def _state(
    port: PortJudgement, state: str, answer: Answer, volts: Beside | None = None
) -> dict[str, Any]:
    demand = port.demands.get(state, "any")
    return {
        "name": state,
        "value": answer.value.value,
        "words": answer.words,
        "volts": volts(port, state) if volts else None,
        "demand": DEMANDS.get(demand, NOT_RECORDED if demand == "not_recorded" else ""),
        "verdict": verdict(demand, answer),
        "links": [link_row(link) for link in answer.chain],
    }


def of_the_car(judgement: Judgement) -> list[dict[str, Any]]:
    """Return the car's own lamps, steering assist and the like, as rows of the same table."""
    return [
        {
            "part": load.label,
            "port": "",
            "states": [_state(load, state, load.answers[state]) for state in STATE_NAMES],
        }
        for load in judgement.loads
    ]


def drawing(
    judgement: Judgement,
    fittings: Mapping[str, Fitting],
    state: str,
    *,
    volts: Beside | None = None,
    ends: Mapping[str, str] | None = None,
) -> feed_sheet.Sheet:
    """Return the feed sheet of one state, the fitted parts first and then what is the car's.

    ``volts`` tells what is known of the volts of a port, ``ends`` those of a source by its name.
    """
    ports = (*judgement.ports, *judgement.loads)
    drawn = list(_drawn(ports, fittings, state, volts))
    for answer in drawn:
        for link in answer["links"]:
            if link["kind"] == "source" and link["label"] in (ends or {}):
                told = ((ends or {})[link["label"]], link["sub"])
                link["sub"] = ", ".join(text for text in told if text)
    return feed_sheet.build(drawn, state=state)


def _drawn(
    ports: Iterable[PortJudgement],
    fittings: Mapping[str, Fitting],
    state: str,
    volts: Beside | None,
) -> Iterator[dict[str, Any]]:
    for port in ports:
        part, name = _names(fittings.get(port.component), port)
        answer = port.answers[state]
        yield {
            "volts": _volt_lines(volts(port, state) if volts else None),
            "part": part,
            "port": name,
            "demand": DEMANDS.get(port.demands.get(state, "any"), ""),
            "value": answer.value.value,
            "words": answer.words,
            "links": [link_row(link) for link in answer.chain if _is_drawn(link)],
        }


def _volt_lines(told: Mapping[str, str] | None) -> list[str]:
    """Say at the end of a way what is computed and what was measured there."""
    if not told:
        return []
    lines = []
    if told.get("computed"):
        lines.append(f"{told['computed']} computed: {told['computed_is']}")
    elif told.get("missing"):
        lines.append(f"volts unknown: {told['missing']}")
    if told.get("measured"):
        lines.append(f"{told['measured']} measured: {told['measured_is']}")
    return lines


def _is_drawn(link: Link) -> bool:
    """A return path that carries is left out of the drawing; one that does not is the point."""
    return link.value is not Value.ON or link.point not in ("ground", "disconnect")
