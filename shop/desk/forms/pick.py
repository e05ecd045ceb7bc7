"""Choosing one record among many without a script: type a scrap of it, choose among what fits."""

from collections.abc import Sequence
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.db.models import Q, QuerySet

from shop.people.models import Ownership
from vehicles.domain.normal import tokens
from vehicles.models import Vehicle

SHOWN = 12
VIN_TAIL = 8


def fitting(rows: QuerySet[Any], scrap: str) -> QuerySet[Any]:
    """Return those of `rows` whose search text holds every piece of `scrap`; none for no scrap."""
    asked = tokens(scrap)
    if not asked:
        return rows.none()
    for token in asked:
        anyform = Q()
        for form in token.forms:
            anyform |= Q(lookup__contains=form)
        rows = rows.filter(anyform)
    return rows


def told_apart(records: Sequence[Any]) -> list[str]:
    """Return a line for each record; vehicles of one name differ by plate, owner and VIN tail."""
    keys = [record.pk for record in records if isinstance(record, Vehicle)]
    if not keys:
        return [str(record) for record in records]
    owned = Ownership.objects.current().filter(vehicle__in=keys).select_related("customer")
    owners = {row.vehicle_id: str(row.customer) for row in owned}
    return [_in_line(record, owners.get(record.pk, "no owner recorded")) for record in records]


def _in_line(vehicle: Vehicle, owner: str) -> str:
    tail = f"VIN tail {vehicle.vin[-VIN_TAIL:]}" if vehicle.vin else ""
    return ", ".join(part for part in (str(vehicle), vehicle.plate, owner, tail) if part)


class PickWidget(forms.MultiWidget):
    """A box for the scrap, and the records found for it."""

    use_fieldset = True
    template_name = "desk/records/pick.html"

    def __init__(self) -> None:
        scrap = forms.TextInput({"autocomplete": "off", "spellcheck": "false"})
        super().__init__({"scrap": scrap, "pick": forms.RadioSelect()})

    def use_required_attribute(self, initial: Any) -> bool:
        """Neither part is required: one of the two is enough, and only the server knows which."""
        return False

    def decompress(self, value: Any) -> list[Any]:
        """Show a record that is already chosen as the one found."""
        return ["", str(getattr(value, "pk", value) or "")]


class PickField(forms.Field):
    """One record of `rows`; `offered` are shown without being asked for.

    The answer is the record or None. Where the scrap fits exactly one record, that one is taken;
    where it fits several, they are shown and nothing is taken.
    """

    widget = PickWidget

    def __init__(self, *, rows: QuerySet[Any], offered: Any = (), **kwargs: Any) -> None:
        self.all_rows = rows
        super().__init__(widget=PickWidget(), **kwargs)
        self.offer(list(offered))

    def offer(self, records: list[Any]) -> None:
        """Show these records to choose from."""
        words = told_apart(records)
        self.widget.widgets[1].choices = [
            (record.pk, told) for record, told in zip(records, words, strict=True)
        ]

    def clean(self, value: Any) -> Any:
        """Return the record; raise ValidationError and show what fits where it is not one."""
        scrap, picked = value or ("", "")
        offered = [str(key) for key, _ in self.widget.widgets[1].choices]
        if picked and not (scrap or "").strip():
            return self._by_key(picked)
        if (scrap or "").strip():
            found = list(fitting(self.all_rows, scrap)[: SHOWN + 1])
            self.offer(found[:SHOWN])
            if picked in [str(record.pk) for record in found]:
                return self._by_key(picked)
            return self._only_one(scrap, found)
        if self.required:
            words = "Choose one of these, or type" if offered else "Type"
            raise ValidationError(f"{words} a scrap of it: name, plate, VIN tail, phone.")
        return None

    def _by_key(self, key: str) -> Any:
        record = self.all_rows.filter(pk=key).first() if str(key).isdecimal() else None
        if record is None:
            raise ValidationError("This one is not in the records any more; look again.")
        return record

    def _only_one(self, scrap: str, found: list[Any]) -> Any:
        if len(found) == 1:
            return found[0]
        if not found:
            raise ValidationError(f"Nothing in the records fits “{scrap}”.")
        more = " The first of them are shown; type more of it." if len(found) > SHOWN else ""
        raise ValidationError(f"Several fit “{scrap}”: choose one.{more}")
