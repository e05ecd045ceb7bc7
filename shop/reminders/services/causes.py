"""What the records hold that things fall due from: looks at parts, and what forbids towing."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import date

from django.db.models import Q

from installs.domain.looks import outcome_words, stops_towing
from installs.domain.procedural import source_words
from installs.models import Inspection, Standing
from shop.reminders.domain.plan import Look
from vehicles.domain.procedure import Procedure
from vehicles.models import ProcedureRevision


def looks_at(
    *, components: Iterable[int], checks: Iterable[int | None], until: date
) -> dict[tuple[int, int | None], list[Look]]:
    """Return the looks that came to a result by component and check, none of them after `until`."""
    rows = Inspection.objects.filter(
        component__in=set(components),
        check_done__in=set(checks) - {None},
        result__in=(*Inspection.GOOD, *Inspection.BAD),
        done_on__lte=until,
    )
    found: dict[tuple[int, int | None], list[Look]] = defaultdict(list)
    for component, check, duty, pk, on, result in rows.values_list(
        "component", "check_done", "component__kind__duty", "pk", "done_on", "result"
    ):
        if result in Inspection.GOOD:
            look = Look(pk, on)
        else:
            grave = stops_towing(duty, result)
            look = Look(pk, on, good=False, came=outcome_words(result), grave=grave)
        found[component, check].append(look)
    return found


def forbidden(vehicle_ids: Sequence[int]) -> dict[int, tuple[int, str]]:
    """Return of vehicles that must not be towed on their wheels the revision that says so.

    By vehicle: the revision's number in the table, and its source in words.
    """
    standings = Standing.objects.filter(vehicle__in=vehicle_ids, proof=Standing.Proof.NOT_TOWED)
    ranges = dict(standings.values_list("vehicle", "vehicle__model_range"))
    if not ranges:
        return {}
    whose = Q(vehicle__in=ranges) | Q(model_range__in={pk for pk in ranges.values() if pk})
    current = ProcedureRevision.objects.current().filter(whose)
    own = {row.vehicle_id: row for row in current if row.vehicle_id}
    general = {row.model_range_id: row for row in current if row.model_range_id}
    found = {}
    for vehicle, model_range in ranges.items():
        revision = own.get(vehicle) or general.get(model_range)
        if revision is not None and revision.verdict == ProcedureRevision.Verdict.NOT_ALLOWED:
            found[vehicle] = revision.pk, source_words(Procedure.from_dict(revision.content))
    return found
