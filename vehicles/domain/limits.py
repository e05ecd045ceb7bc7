"""Starting values of every limit and assumption of the calculations, each with its source.

Nothing here is a truth of the program: each value is what a shop's setting starts with, and
every function that applies one takes it as an argument. `from_memory` marks what nobody
looked up for this table (the owner confirms it), `disputed` where sources that were read
disagree or where it is a habit without a source. Tables with rows are in `limit_tables.py`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from vehicles.domain.bands import Band

NO_SOURCE = "common practice, no source"
ASSUMED = "assumption of this program, no source; a measurement replaces it"
MARINE = "marine wiring practice, read in a chandler's catalogue"
HANDBOOK = "load-test pages of three vehicle makers' handbooks, read"
ENERGY = "an off-grid energy handbook, 2.5.10, read; rows taken from flattened text"


@dataclass(frozen=True, slots=True)
class Limit:
    """One starting value: `band` in `unit`, what it is for, and how it is known."""

    code: str
    words: str
    band: Band
    unit: str
    source: str
    from_memory: bool = False
    disputed: bool = False

    @property
    def value(self) -> float:
        """The value alone, without its bounds."""
        return self.band.value

    @property
    def source_words(self) -> str:
        """The source as a person reads it, with what is to be confirmed."""
        notes = ["from memory, confirm"] * self.from_memory + ["sources differ"] * self.disputed
        return "; ".join([self.source, *notes])


def _limit(
    code: str,
    words: str,
    value: float | tuple[float, float, float],
    unit: str,
    source: str,
    *,
    memory: bool = False,
    disputed: bool = False,
) -> Limit:
    """Build a Limit; a triple is low, value, high."""
    low, middle, high = value if isinstance(value, tuple) else (value, value, value)
    return Limit(code, words, Band(middle, low, high), unit, source, memory, disputed)


def _by_code(limits: Iterable[Limit]) -> Mapping[str, Limit]:
    return {limit.code: limit for limit in limits}


WIRE = (
    _limit(
        "copper_ohm_mm2_per_m",
        "resistivity of annealed copper at 20 °C, 100 % IACS",
        1 / 58,
        "Ω·mm²/m",
        "IEC 60028",
        memory=True,
    ),
    _limit(
        "copper_per_k", "rise of copper's resistance per kelvin", 0.00393, "1/K", "IEC 60028",
        memory=True,
    ),
    _limit(
        "strand_share",
        "resistance of stranded wire against a solid one of the same area",
        1.02,
        "",
        "NEC chapter 9 table 8, read in a copy: its two columns differ by about 2 %",
    ),
    _limit("circular_mil_k", "K in CM = K·I·L/E", 10.75, "Ω·cmil/ft", MARINE, memory=True),
    _limit("wire_temperature_c", "temperature that a wire is reckoned at", 50, "°C", ASSUMED),
    _limit("drop_share_critical", "drop there and back, brakes and lamps", 0.03, "", MARINE),
    _limit("drop_share_other", "drop there and back, other circuits", 0.10, "", MARINE),
)  # fmt: skip

FUSE = (
    _limit(
        "fuse_share",
        "share of a fuse's rating that a lasting load may use",
        0.80,
        "",
        "building-code practice for loads over three hours, read; a fuse maker's note says 0.75",
        disputed=True,
    ),
    _limit(
        "outlet_supply_a", "fuse behind an outlet for a portable brake unit, at least", 15, "A",
        NO_SOURCE,
    ),
)  # fmt: skip

CIRCUIT = (
    _limit("car_volts", "car battery at rest", (12.2, 12.5, 12.8), "V", ASSUMED),
    _limit("coach_volts", "coach's charging voltage", (13.5, 14.0, 14.4), "V", ASSUMED),
    _limit("battery_ohm", "inner resistance of a car battery", (0.005, 0.01, 0.03), "Ω", ASSUMED),
    _limit("body_return_ohm", "body between two grounds", (0.002, 0.01, 0.1), "Ω", ASSUMED),
    _limit("contact_ohm", "one contact, terminal or plug pin", (0.001, 0.003, 0.02), "Ω", ASSUMED),
    _limit("harness_ohm", "wire of the car itself, each leg", (0.005, 0.02, 0.06), "Ω", ASSUMED),
    _limit("charge_way_ohm", "charge line, each way", (0.025, 0.1, 0.3), "Ω", ASSUMED),
    _limit("unlisted_a", "a part without a listed current", (0.0, 2.0, 15.0), "A", ASSUMED),
    _limit("port_wire_ohm", "a fitted part's wire, not recorded", (0.005, 0.05, 0.2), "Ω", ASSUMED),
    _limit("coil_ohm", "coil of a relay", (60, 80, 120), "Ω", NO_SOURCE, memory=True),
    _limit(
        "fuse_volts_at_rating", "drop over a blade fuse at its rating", (0.05, 0.1, 0.15), "V",
        NO_SOURCE, memory=True,
    ),
    _limit("short_a", "more than this from one battery is a short", 300, "A", ASSUMED),
    _limit("port_volts", "at the port of a part, at least", 10.5, "V", ASSUMED),
)  # fmt: skip

BATTERY = (
    _limit("rest_hours", "rest before a voltage tells the charge", 8, "h",
           "a recreational-vehicle battery guide, read: at least 8 h, better 24 h"),
    _limit("meter_share", "error of a hand meter", 0.01, "",
           "an article on battery voltages, read: a 1 % meter is usual"),
    _limit("usable_share", "share of a battery's charge to plan with", 0.5, "", NO_SOURCE),
    _limit("old_share", "capacity that a battery at the end of its life still has", 0.8, "",
           "usual end-of-life mark of stationary-battery practice", memory=True),
    _limit("hold_minutes", "brakes held on after a breakaway, at least", 15, "min",
           "South Dakota 32-18-17 and D.C. 18 DCMR 721, read; written for trailers"),
    _limit("test_ah_share", "load-test amps per amp-hour where no CCA is marked", 3, "A/Ah",
           HANDBOOK),
    _limit("test_cca_share", "load-test amps per CCA amp", 0.5, "", HANDBOOK),
    _limit("test_seconds", "length of a load test", 15, "s", HANDBOOK),
    _limit("test_charge_share", "charge before a load test, at least", 0.75, "", HANDBOOK),
    _limit("line_rest_volts", "rested battery that needs no question", 12.4, "V",
           "about 75 % charge in the published tables, read"),
    _limit("line_volts", "charge line at the car while towing, at least", 13.0, "V", NO_SOURCE),
    _limit("storage_months", "stored battery charged again after", 3, "months",
           "a caravan owners' guide, read: a rule of thumb"),
    _limit("pin_out_a", "current with a breakaway pin out", 12, "A",
           "a column on vehicle wiring, read"),
)  # fmt: skip

COUPLING = (
    _limit("bar_rise_mm", "height between the ends of a tow bar, at most", (50.8, 76.2, 101.6),
           "mm", "a trade instructor, read: within two to four inches", disputed=True),
    _limit("loop_clearance_mm", "lowest point of a cable loop above the ground, at least", 75,
           "mm", ASSUMED),
    _limit("scale_share", "error of a public scale", 0.005, "", ASSUMED),
    _limit("base_plate_months", "base-plate bolts looked at every", 12, "months",
           "a trade instructor, read: once a year"),
)  # fmt: skip

LIMITS: Mapping[str, Limit] = _by_code((*WIRE, *FUSE, *CIRCUIT, *BATTERY, *COUPLING))

# Settings that are a choice, not a number; the stricter one is what a shop starts with.
CABLE_RULE = "each"
COACH_BASIS = "worst"


def limit(code: str) -> float:
    """Return the starting value of a limit. Raises KeyError for a code that is not listed."""
    return LIMITS[code].value


def limit_band(code: str) -> Band:
    """Return the starting value with its bounds. Raises KeyError for a code not listed."""
    return LIMITS[code].band
