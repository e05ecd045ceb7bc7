"""The numbers of one vehicle as a whole: reckoned, or the sentence why they cannot be.

``reckon(sheet)`` never raises: a record that cannot be (a resistance of nothing, figures too far
apart) becomes a sentence in ``Numbers.fault``, and the answers of the judgement stand without
numbers. Units: volts, amps, watts.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from installs.domain.network import Readings
from installs.domain.numeric import FuseAmps, PortVolts, StateNumbers, numbers_of
from installs.domain.sheet import Sheet
from installs.domain.views import Views
from vehicles.domain.circuit import CircuitError
from vehicles.domain.inputs import InputError
from vehicles.domain.limit_set import START, Limits
from vehicles.domain.state import STATE_NAMES

# The limits that findings hang on: a change of any other one reaches no vehicle's judgement.
JUDGED_BY = frozenset(
    {
        "ampacity", "battery_ohm", "body_return_ohm", "car_volts", "charge_way_ohm", "coach_volts",
        "coil_ohm", "contact_ohm", "copper_ohm_mm2_per_m", "copper_per_k", "fuse_share",
        "fuse_volts_at_rating", "harness_ohm", "port_volts", "port_wire_ohm", "short_a",
        "strand_share", "unlisted_a", "wire_temperature_c",
    }
)  # fmt: skip


@dataclass(frozen=True)
class Numbers:
    """All numbers of a vehicle by state, the limits they were held against, and any fault.

    Where ``fault`` says why nothing could be reckoned, ``states`` is empty.
    """

    states: Mapping[str, StateNumbers] = field(default_factory=dict)
    limits: Limits = START
    fault: str = ""

    def port(self, state: str, component: str, port: str) -> PortVolts | None:
        """The volts of one port of a fitted part; None where its connection is not recorded."""
        found = self.states.get(state)
        return found.ports.get(f"{component}.{port}") if found else None

    def fuse(self, state: str, fuse: str) -> FuseAmps | None:
        """The amps through a fuse of the map; None where nothing fitted hangs on it."""
        found = self.states.get(state)
        return found.fuses.get(fuse) if found else None


def reckon(
    sheet: Sheet,
    *,
    views: Views | None = None,
    limits: Limits = START,
    states: Iterable[str] = STATE_NAMES,
    readings: Readings | None = None,
    draw: str = "peak_a",
) -> Numbers:
    """Work out the numbers of ``sheet`` by the shop's ``limits``; see ``numbers_of``."""
    try:
        found = numbers_of(
            sheet,
            views=views,
            states=states,
            readings=readings,
            settings=limits.bands,
            share=limits.share,
            draw=draw,
        )
    except (InputError, CircuitError) as fault:
        return Numbers({}, limits, str(fault))
    return Numbers(found, limits)
