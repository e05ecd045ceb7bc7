"""Emptying the tables between tests leaves the guard of the log in place."""

import pytest
from django.db import DatabaseError

from vehicles.models import Event


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("turn", [1, 2])
def test_the_guard_stands_in_each_test_on_its_own_database(turn: int) -> None:
    Event.objects.create(actor=f"turn {turn}", verb="added", subject_type="x", subject="y")
    with pytest.raises(DatabaseError, match="append-only"):
        Event.objects.all().delete()
    assert [event.actor for event in Event.objects.all()] == [f"turn {turn}"]
