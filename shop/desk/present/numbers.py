"""The numbers behind a vehicle's page: volts at ports, amps through fuses, and their limits.

For pictures and tables alike. ``of_page(page)`` costs nothing further: the numbers were worked
out with the judgement of the page, by the limits that the shop has in force.
"""

from collections.abc import Callable, Mapping

from installs.domain.needs import PortJudgement
from installs.domain.network import POST, Readings
from installs.domain.reckoned import Numbers, reckon
from installs.models import Verification
from installs.services.judging import Judged, readings_of
from shop.desk.vehicle_reads import TowedVehicle
from vehicles.domain.answers import Value
from vehicles.domain.bands import Verdict
from vehicles.domain.limit_set import Limits

WORDS = {
    Verdict.PASS: "enough",
    Verdict.FAIL: "too low",
    Verdict.CLOSE: "too close to call",
    Verdict.UNKNOWN: "unknown",
}
# The nodes of a fed network between which a source's volts stand.
POSTS = {"battery": ("battery", POST), "coach": ("coach source", "coach minus")}
# One port in one state: what was computed and measured, and what is missing to compute it.
Volts = Mapping[str, str]
Beside = Callable[[PortJudgement, str], Volts | None]


def of_page(page: TowedVehicle) -> Numbers:
    """Return the numbers of the vehicle that a page shows, for drive, tow and breakaway.

    ``numbers.states["tow"].ports["c12.power"]`` is a ``PortVolts`` (``volts`` and ``held`` against
    the limit), ``.fuses["F08"]`` a ``FuseAmps``, ``.losses`` says where power goes, and
    ``.solved`` and ``.fed`` hold the volts of every node. ``numbers.limits`` are the limits in
    force with their sources. Where ``numbers.fault`` is a sentence, nothing could be reckoned,
    ``states`` is empty, and the sentence is to be shown in the place of the numbers.
    """
    return of_judged(page.now, limits=page.limits)


def of_judged(
    now: Judged,
    *,
    limits: Limits,
    readings: Readings | None = None,
    draw: str = "peak_a",
) -> Numbers:
    """Return the numbers of a judged vehicle with other ``readings`` or another ``draw``.

    With neither, they are those that the judgement already holds.
    """
    if now.numbers is not None and readings is None and draw == "peak_a":
        return now.numbers
    views = now.judgement.views
    return reckon(now.sheet, views=views, limits=limits, readings=readings, draw=draw)


def beside(now: Judged, proof: Verification | None) -> Beside:
    """Return what tells the volts of a port in a state, computed and measured side by side.

    What the last proof measured counts only while nothing that matters changed since; after that
    it is still shown, and says so. The keys: ``computed``, ``computed_is``, ``measured``,
    ``measured_is``, ``missing``, each empty where there is nothing to say.
    """
    counted = readings_of(proof, now)
    read = _measured(proof)

    def volts_of(port: PortJudgement, state: str) -> Volts | None:
        key = (port.component, port.port, state)
        told = _computed(now.numbers, port, state)
        if key in read:
            told |= {
                "measured": f"{read[key]:g} V",
                "measured_is": _reading_words(port, state, read[key], now, counts=key in counted),
            }
        return told or None

    return volts_of


def ends(numbers: Numbers, state: str) -> dict[str, str]:
    """Return the volts at the posts of the sources, under the load of a state, by their name."""
    found = numbers.states.get(state)
    if found is None:
        return {}
    return {
        source: f"{found.solved.across(plus, minus):.1f} V"
        for source, (plus, minus) in POSTS.items()
        if plus in found.solved.volts
    }


def limit_words(numbers: Numbers) -> str:
    """Return the limit that the volts of a port are held against, with its source."""
    setting = numbers.limits["port_volts"]
    return (
        f"At least {setting.words_of_value} {setting.words.split(',')[0]}: {setting.source_words}."
    )


def _measured(proof: Verification | None) -> dict[tuple[str, str, str], float]:
    rows = proof.measured if proof else ()
    return {
        (row["component"], row["port"], row["state"]): float(row["volts"])
        for row in rows
        if row.get("volts") is not None
    }


def _computed(numbers: Numbers | None, port: PortJudgement, state: str) -> dict[str, str]:
    found = numbers.port(state, port.component, port.port) if numbers else None
    if found is None or found.held is None or port.answers[state].value is Value.UNKNOWN:
        return {}
    told = {"computed_is": WORDS[found.held.verdict]}
    if found.held.verdict is Verdict.UNKNOWN or found.volts is None:
        return told | {"missing": "; ".join(found.held.measure)}
    best = found.best.measure if found.best and found.held.verdict is not Verdict.PASS else ""
    return told | {"computed": found.volts.words("V", 1), "missing": best}


def _reading_words(
    port: PortJudgement, state: str, volts: float, now: Judged, *, counts: bool
) -> str:
    if not counts:
        return "before something changed"
    if port.demands.get(state) != "on":
        return "at the last proof"
    return "enough" if volts >= now.alive_volts else "too low"
