"""The chain between coach and car: receiver, bar, base plate, cables, brake, allowance.

The towed weight must not pass the weakest of them. Masses are in kilograms (`unit` only
chooses how sentences show them). A rating that nobody recorded is unknown, never endless:
the whole is then UNKNOWN unless a known link already fails. Equality passes.

Weight has a kind. A scale ticket of the loaded car counts; its GVWR stands in for one on the
heavy side; a curb weight from a brochure leaves out what is in the car, so it proves nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum

from vehicles.domain.bands import Band, Held, Unknown, Verdict, at_least, at_most, band, worst
from vehicles.domain.inputs import InputError, not_negative, positive
from vehicles.domain.limits import CABLE_RULE, COACH_BASIS, limit

POUND_KG = 0.45359237
_EACH, _COMBINED = "each", "combined"
_WORST, _SCALED = "worst", "scaled"


class Part(StrEnum):
    """The links of the chain, from the coach to the car."""

    COACH_ALLOWANCE = "coach's allowance"
    COACH_LABEL = "coach's hitch label"
    RECEIVER = "receiver"
    BALL_MOUNT = "ball mount or drop"
    COUPLER = "ball or drawbar"
    TOW_BAR = "tow bar"
    BASE_PLATE = "base plate"
    SAFETY_CABLES = "safety cables"
    BRAKE_UNIT = "brake unit's range"


# Links that every combination with a tow bar has; the others depend on how it is put together.
EXPECTED = (
    Part.COACH_ALLOWANCE,
    Part.RECEIVER,
    Part.TOW_BAR,
    Part.BASE_PLATE,
    Part.SAFETY_CABLES,
)


class Weighed(StrEnum):
    """How the towed weight is known."""

    SCALED = "scaled"
    GVWR = "gvwr"
    CURB = "curb"


class Basis(StrEnum):
    """What a cable's number says: the load that breaks it, or the load to work with."""

    BREAKING = "breaking"
    WORKING = "working"


@dataclass(frozen=True, slots=True)
class Link:
    """One rated part. `rating_kg` None: nobody recorded it; `measure` then says what to do.

    `least_kg` is the lower end of a range (a brake unit made for cars of at least so much).
    Raises InputError for ratings that are not above 0 or a range that is upside down.
    """

    part: Part
    rating_kg: float | None
    name: str = ""
    least_kg: float | None = None
    measure: str = ""

    def __post_init__(self) -> None:
        if self.rating_kg is not None:
            positive(f"rating of the {self.label}", self.rating_kg)
        if self.least_kg is not None:
            not_negative(f"lower end of the {self.label}", self.least_kg)
            if self.rating_kg is not None and self.least_kg > self.rating_kg:
                raise InputError(f"range of the {self.label}", "its lower end is above its upper.")

    @property
    def label(self) -> str:
        """Its name, or what kind of part it is."""
        return self.name or self.part.value


@dataclass(frozen=True, slots=True)
class Allowance:
    """What the coach leaves for the car, in kg: GCWR - GVWR, and GCWR - its weight on a scale.

    Either is None where its figures are missing. `notes` tell what contradicts.
    """

    worst_kg: float | None
    scaled_kg: float | None
    notes: tuple[str, ...] = ()

    def link(self, basis: str = COACH_BASIS) -> Link:
        """The allowance as a link of the chain, by `basis`: `worst` (stricter) or `scaled`."""
        if basis not in (_WORST, _SCALED):
            raise InputError("basis of the allowance", f"“{basis}” is neither worst nor scaled.")
        kg = self.worst_kg if basis == _WORST else self.scaled_kg
        ask = "read GCWR and GVWR on the coach's label"
        if basis == _SCALED:
            ask = "read the coach's GCWR and weigh the loaded coach"
        return Link(Part.COACH_ALLOWANCE, kg, measure=ask)


def coach_allowance(
    *, gcwr_kg: float | None, gvwr_kg: float | None, scaled_kg: float | None = None
) -> Allowance:
    """Return what the coach leaves for a towed car, in kg, by its label and by its scale ticket.

    Raises InputError where the ratings contradict each other (GVWR not below GCWR) or the coach
    alone weighs as much as the combination may.
    """
    combined = None if gcwr_kg is None else positive("GCWR", gcwr_kg)
    alone = None if gvwr_kg is None else positive("GVWR", gvwr_kg)
    weight = None if scaled_kg is None else positive("scaled weight of the coach", scaled_kg)
    if combined is None:
        return Allowance(None, None)
    if alone is not None and alone >= combined:
        raise InputError(
            "GVWR", "it is not below the GCWR, so nothing could be towed; read the label again."
        )
    if weight is not None and weight >= combined:
        raise InputError(
            "scaled weight of the coach", "it is not below the GCWR; look at the ticket again."
        )
    notes: tuple[str, ...] = ()
    if alone is not None and weight is not None and weight > alone:
        notes = ("The coach on the scale weighs more than its own GVWR.",)
    return Allowance(
        None if alone is None else combined - alone,
        None if weight is None else combined - weight,
        notes,
    )


def cables_link(
    ratings_kg: Sequence[float | None],
    *,
    basis: Basis | None,
    rule: str = CABLE_RULE,
    wanted: Basis = Basis.BREAKING,
) -> Link:
    """Return the safety cables as one link, by the rule in force.

    `each`: every cable must bear the towed weight (SAE J684's heaviest class and New Hampshire
    RSA 266:63 ask so); `combined`: all together (federal guidance on 393.70(d), question 2).
    `basis` says what the numbers are; where it is not recorded, or is not the `wanted` one, or a
    rating is missing, the link is unknown: a breaking force is about three times a working load.
    """
    if rule not in (_EACH, _COMBINED):
        raise InputError("cable rule", f"“{rule}” is neither each nor combined.")
    known = [positive("cable rating", kg) for kg in ratings_kg if kg is not None]
    if not ratings_kg or len(known) < len(ratings_kg):
        return Link(Part.SAFETY_CABLES, None, measure="read the rating on every safety cable")
    if basis is not wanted:
        return Link(
            Part.SAFETY_CABLES,
            None,
            measure=f"find out the cables' {wanted.value} load from their maker",
        )
    return Link(Part.SAFETY_CABLES, min(known) if rule == _EACH else sum(known))


# Minimum breaking force of each safety chain by class, and the gross weight the class ends at.
_J684_LB = ((2000, 2000), (3500, 3500), (5000, 5000))
_J684_LARGEST_LB = 10_000


def least_breaking_lb(gross_lb: float) -> float:
    """Return the least breaking force in lbf of each safety chain for a gross weight in lb.

    SAE J684 as quoted in a trailer glossary that was read: 2,000, 3,500 and 5,000 lbf for the
    classes up to that weight (class limits from memory), above that the gross weight itself.
    Raises InputError above 10,000 lb, where that practice ends.
    """
    weight = positive("gross weight", gross_lb)
    if weight > _J684_LARGEST_LB:
        raise InputError("gross weight", f"SAE J684 ends at {_J684_LARGEST_LB:,} lb.")
    return next((force for most, force in _J684_LB if weight <= most), weight)


@dataclass(frozen=True, slots=True)
class Chain:
    """The judged chain: a verdict per link in the order given, and the weakest known link.

    `limit_kg` is the weakest known rating; with `missing` links it is only an upper bound of
    what may be towed. `towed` is None where the weight is not known.
    """

    verdict: Verdict
    links: tuple[tuple[Link, Held], ...]
    weakest: Link | None
    limit_kg: float | None
    towed: Band | None
    missing: tuple[Link, ...]
    words: str


def towed_weight(
    kg: float | None, kind: Weighed | None, *, scale_share: float | None = None
) -> Band | Unknown:
    """Return the towed weight in kg as a band: a scale's error either way, a GVWR as it is.

    A curb weight, a missing weight or a missing kind is Unknown: weigh it loaded.
    """
    ask = "weigh the towed vehicle as it is towed, loaded"
    if kg is None or kind is None or kind is Weighed.CURB:
        return Unknown((ask,))
    weight = positive("towed weight", kg)
    if kind is Weighed.GVWR:
        return band(weight)
    error = limit("scale_share") if scale_share is None else not_negative("scale", scale_share)
    return Band(weight, weight * (1 - error), weight * (1 + error))


def judge_chain(
    towed: Band | float | Unknown | None,
    links: Iterable[Link],
    *,
    expected: Iterable[Part] = EXPECTED,
    unit: str = "kg",
) -> Chain:
    """Judge a chain of `links` for a `towed` weight in kg; `unit` (kg or lb) is for sentences.

    The weakest link is the smallest known rating; a brake unit's lower end is judged as well.
    An `expected` part that is not among the links is missing like one without a rating. Raises
    InputError for a weight that is not above 0.
    """
    given = tuple(links)
    there = {link.part for link in given}
    given += tuple(Link(part, None) for part in expected if part not in there)
    weight = None if towed is None or isinstance(towed, Unknown) else band(towed)
    if weight is not None:
        positive("towed weight", weight.low)
    ask = towed if isinstance(towed, Unknown) else Unknown(("weigh the towed vehicle, loaded",))
    judged = tuple((link, _held(link, ask if weight is None else weight, unit)) for link in given)
    known = [link for link in given if link.rating_kg is not None]
    weakest = min(known, key=lambda link: link.rating_kg or 0.0, default=None)
    missing = tuple(link for link in given if link.rating_kg is None)
    verdict = worst(held.verdict for _, held in judged)
    words = _chain_words(verdict, weakest, missing, judged, unit)
    return Chain(
        verdict,
        judged,
        weakest,
        weakest.rating_kg if weakest else None,
        weight,
        missing,
        words,
    )


def _held(link: Link, weight: Band | Unknown, unit: str) -> Held:
    rate = POUND_KG if unit == "lb" else 1.0

    def shown(kg: Band | float | Unknown) -> Band | float | Unknown:
        return kg if isinstance(kg, Unknown) else band(kg) * (1 / rate)

    rating = (
        Unknown((link.measure or f"read the rating of the {link.label}",))
        if link.rating_kg is None
        else shown(link.rating_kg)
    )
    most = at_most(link.label, shown(weight), rating, unit=unit, places=0)
    if link.least_kg is None or most.verdict is not Verdict.PASS:
        return most
    least = at_least(link.label, shown(weight), shown(link.least_kg), unit=unit, places=0)
    return most if least.verdict is Verdict.PASS else least


def _chain_words(
    verdict: Verdict,
    weakest: Link | None,
    missing: tuple[Link, ...],
    judged: tuple[tuple[Link, Held], ...],
    unit: str,
) -> str:
    if weakest is None or weakest.rating_kg is None:
        return "No rating of the chain is recorded: read the labels."
    rate = POUND_KG if unit == "lb" else 1.0
    rating = f"{weakest.rating_kg / rate:,.0f} {unit}"
    known = "Weakest of those recorded" if missing else "Weakest link"
    parts = [f"{known}: {weakest.label}, {rating}."]
    if verdict is not Verdict.PASS:
        # The gravest first, since it decides.
        bad = next((held for _, held in judged if held.verdict is verdict), None)
        parts += [f"{bad.words[:1].upper()}{bad.words[1:]}"] if bad else []
    if missing:
        parts.append(f"Not recorded: {', '.join(link.label for link in missing)}.")
    return " ".join(parts)
