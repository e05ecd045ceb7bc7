"""Parts that move, come back or are shared: history goes along, proof does not."""

from datetime import timedelta

import pytest
from django.core.exceptions import ValidationError

from installs.models import Component, ComponentKind, Fitting, Reverification
from installs.services import parts
from shop import changes
from shop.people import services as people
from shop.people.models import Customer
from shop.people.services import Reach
from tests.factories.proving import (
    BY,
    MARA,
    TODAY,
    fed,
    own,
    prove,
    standing,
)
from vehicles.models import ModelRange

pytestmark = pytest.mark.django_db


def test_a_moved_part_keeps_its_history_and_drops_its_feeds_and_proof(
    proven: Fitting, ines: Customer
) -> None:
    other = own(ines, plate="NEW 1")
    moved = changes.move_component(
        fitting=proven, vehicle=other, on=TODAY, why="changed cars", **BY
    )
    assert (moved.component, moved.ports) == (proven.component, {})
    assert [f.vehicle for f in proven.component.fittings.order_by("id")] == [proven.vehicle, other]
    assert standing(other) == "never"
    assert standing(proven.vehicle) == "nothing_fitted"
    proven.refresh_from_db()
    assert (proven.until, proven.wiring_left_in) == (TODAY, True)


def test_a_part_is_in_one_place_at_a_time(proven: Fitting, ines: Customer) -> None:
    with pytest.raises(ValidationError, match="Move it from there"):
        changes.fit_component(component=proven.component, vehicle=own(ines), since=TODAY, **BY)


def test_a_part_that_is_held_back_cannot_be_fitted(
    ines: Customer, crestline: ModelRange, transmitter: ComponentKind
) -> None:
    held = parts.add_component(
        actor=MARA, kind=transmitter, serial="T9", state=Component.State.HELD
    )
    with pytest.raises(ValidationError, match="may not be fitted"):
        changes.fit_component(component=held, vehicle=own(ines), since=TODAY, **BY)


def test_a_unit_that_two_cars_share_is_set_up_and_proven_on_each(
    proven: Fitting, ines: Customer, transmitter: ComponentKind
) -> None:
    """Families swap one portable unit between two cars; trade reasoning, no report found."""
    changes.change_component(component=proven.component, changes={"shared": True}, version=1, **BY)
    proven = Fitting.objects.get(pk=proven.pk)
    other = own(ines, plate="TWO 2")
    here = changes.move_component(
        fitting=proven, vehicle=other, on=TODAY, why="their turn", ports=fed("fuse:F12"), **BY
    )
    assert (standing(proven.vehicle), standing(other)) == ("good", "never")
    prove(here)
    back = changes.move_component(
        fitting=here, vehicle=proven.vehicle, on=TODAY, why="back again", **BY
    )
    assert back.ports == fed("fuse:F21")
    assert (standing(proven.vehicle), standing(other)) == ("good", "good")
    assert not Reverification.objects.open().exists()
    asks_more = [{**transmitter.ports[0], "demand": {"drive": "off", "tow": "on"}}]
    changes.change_kind(kind=transmitter, changes={"ports": asks_more}, version=1, **BY)
    assert standing(other) == "stale", "also where the unit is away"


def test_a_shared_unit_that_goes_to_a_stranger_leaves_no_proof_behind(
    proven: Fitting, ines: Customer
) -> None:
    Component.objects.filter(pk=proven.component_id).update(shared=True)
    proven = Fitting.objects.get(pk=proven.pk)
    stranger = people.add_customer(actor=MARA, reach=Reach(), name="Teller")
    moved = changes.move_component(
        fitting=proven, vehicle=own(stranger, plate="FAR 1"), on=TODAY, why="sold", **BY
    )
    assert (moved.ports, standing(proven.vehicle)) == ({}, "nothing_fitted")


def test_a_part_taken_off_and_fitted_again_is_not_as_it_was_proven(
    proven: Fitting, ines: Customer
) -> None:
    away = changes.move_component(
        fitting=proven, vehicle=own(ines, plate="NEW 1"), on=TODAY, why="tried there", **BY
    )
    back = changes.move_component(
        fitting=away,
        vehicle=proven.vehicle,
        on=TODAY,
        why="back again",
        ports=fed("fuse:F21"),
        **BY,
    )
    assert standing(back.vehicle) == "stale"


def test_a_part_is_not_on_two_cars_on_one_day(proven: Fitting, ines: Customer) -> None:
    other = own(ines, plate="NEW 1")
    changes.remove_component(fitting=proven, until=TODAY, why="came off", **BY)
    with pytest.raises(ValidationError, match="not here before that"):
        changes.fit_component(
            component=proven.component, vehicle=other, since=TODAY - timedelta(days=1), **BY
        )


def test_a_part_on_a_vehicle_does_not_become_another_kind(proven: Fitting, ines: Customer) -> None:
    other = parts.add_kind(actor=MARA, slug="tow-bar", name="Tow bar", ports=[])
    with pytest.raises(ValidationError, match="take it off there first"):
        changes.change_component(
            component=proven.component, changes={"kind": other}, version=1, **BY
        )
    assert standing(proven.vehicle) == "good"
