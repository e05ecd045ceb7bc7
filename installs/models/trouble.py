"""Bad looks that stand, gathered as JSON in the query that reads what they are about."""

from typing import Any

from django.db.models import JSONField, OuterRef, Subquery, TextField
from django.db.models.functions import Cast, JSONObject

from .proof import Inspection


class JsonList(Subquery):
    """The rows of a subquery of one JSON column called `told`, as one JSON list."""

    output_field = JSONField()

    def as_sqlite(self, compiler: Any, connection: Any, **extra: Any) -> Any:
        template = "(SELECT json_group_array(json(told)) FROM (%(subquery)s) AS rows_told)"
        return self.as_sql(compiler, connection, template=template, **extra)

    def as_postgresql(self, compiler: Any, connection: Any, **extra: Any) -> Any:
        template = "(SELECT coalesce(jsonb_agg(told), '[]') FROM (%(subquery)s) AS rows_told)"
        return self.as_sql(compiler, connection, template=template, **extra)


def trouble_of_part(component: str = "component") -> JsonList:
    """What stands against a part, by the name of its column in the outer query."""
    return _as_looks(Inspection.objects.filter(component=OuterRef(component)))


def trouble_of_vehicle(vehicle: str = "pk") -> JsonList:
    """What stands against a vehicle as a whole, by the name of its column."""
    return _as_looks(Inspection.objects.filter(component=None, vehicle=OuterRef(vehicle)))


def _as_looks(looks: Any) -> JsonList:
    """Each in the form of `installs.domain.looks.SeenLook`, the oldest first."""
    told = JSONObject(
        check="check_done__slug",
        name="check_done__name",
        on=Cast("done_on", TextField()),
        result="result",
    )
    return JsonList(looks.standing_trouble().annotate(told=told).values("told"))
