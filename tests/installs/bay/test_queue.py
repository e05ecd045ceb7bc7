"""What a tablet sends late, twice or out of order leads to the same record."""

import random
from typing import Any
from uuid import UUID, uuid4

import pytest
from django.core.exceptions import ValidationError

from installs.models import Arrival, Job, StepAnswer
from installs.services import bay
from tests.installs.bay.conftest import NOW, TEO

pytestmark = pytest.mark.django_db


def sent(seq: int, key: str, made: UUID | None = None, **raw: Any) -> dict[str, Any]:
    return {
        "id": made or uuid4(), "seq": seq, "key": key, "raw": raw,
        "at": "2026-11-25T14:02:00+00:00", "seen": None,
    }  # fmt: skip


def take(job: Job, *items: dict[str, Any], device: str = "tablet-1") -> list[Arrival]:
    return bay.take_arrivals(job=job, device=device, sent=items, now=NOW, actor=TEO)


def record(job: Job) -> list[tuple[str, int, Any]]:
    rows = StepAnswer.objects.filter(step__job=job).order_by("step__key", "number")
    return [(row.step.key, row.number, row.value) for row in rows.select_related("step")]


def test_what_comes_early_waits_for_what_is_before_it(job: Job) -> None:
    vin, plate = sent(1, "identity_vin", text="000123"), sent(2, "identity_plate", text="ALD 204")

    (early,) = take(job, plate)
    assert (early.outcome, StepAnswer.objects.count()) == ("", 0)

    take(job, vin)
    assert [key for key, _, _ in record(job)] == ["identity_plate", "identity_vin"]


def test_200_answers_replayed_five_times_in_any_order_are_one_record(job: Job) -> None:
    items = [sent(1, "identity_vin", text="000123")]
    items += [sent(n, "odometer", number=f"{40_000 + n} mi") for n in range(2, 201)]
    shuffled = random.Random(7)
    for _ in range(5):
        shuffled.shuffle(items)
        for start in range(0, len(items), 40):
            take(job, *items[start : start + 40])

    rows = record(job)
    assert len(rows) == 200
    odometer = [value["typed"] for key, _, value in rows if key == "odometer"]
    assert odometer == [f"{40_000 + n} mi" for n in range(2, 201)]


def test_what_is_refused_stays_with_its_reason_and_holds_nothing_up(job: Job) -> None:
    first, second, third = take(
        job,
        sent(1, "identity_vin", text="000123"),
        sent(2, "odometer", number="forty"),
        sent(3, "odometer", number="40,000 mi"),
    )

    assert (first.outcome, second.outcome, third.outcome) == ("taken", "refused", "taken")
    assert second.payload["raw"] == {"number": "forty"}
    assert "“forty” is not" in second.told[0]


def test_another_thing_under_the_same_number_is_not_taken(job: Job) -> None:
    take(job, sent(1, "identity_vin", text="000123"))
    with pytest.raises(ValidationError, match="numbering was started anew"):
        take(job, sent(1, "identity_vin", text="000999"))


def test_a_clock_that_runs_ahead_counts_as_now(job: Job) -> None:
    late = sent(1, "identity_vin", text="000123") | {"at": "2031-01-01T00:00:00+00:00"}
    take(job, late)
    assert StepAnswer.objects.get().at == NOW


def test_two_devices_keep_their_own_order(job: Job) -> None:
    take(job, sent(1, "identity_vin", text="000123"))
    (other,) = take(job, sent(1, "odometer", number="40,000 mi"), device="tablet-2")
    assert other.outcome == "taken"
