"""A changed limit: kept as a version, and a new proof is asked for only where an answer flips."""

from typing import Any

import pytest
from django.core.exceptions import ValidationError

from installs.domain.findings import Code
from installs.models import ComponentKind, Fitting, Reverification, Standing
from installs.services import judging
from shop import changes, limit_changes
from shop.people.models import Customer
from tests.factories.proving import BY, TODAY, asked_of, fit, own, prove, readings, standing
from vehicles import limits
from vehicles.domain.limit_set import START
from vehicles.models import Event, LimitVersion, ModelRange
from vehicles.records import Clash

pytestmark = pytest.mark.django_db


def set_limit(code: str, value: float, version: int = 0, **fields: Any) -> LimitVersion:
    told = {"source": "a maker's data sheet", "why": "read at last", "typed": {}, **fields}
    content = {"value": value, "low": value, "high": value}
    return limit_changes.set_limit(code=code, content=content, version=version, **told, **BY)


def test_an_empty_database_works_by_the_starting_values() -> None:
    assert LimitVersion.objects.in_force() == START
    assert START["ampacity"].source_words.endswith("from memory, confirm")


def test_a_limit_is_kept_in_versions_with_its_source_and_who_set_it() -> None:
    set_limit("port_volts", 11)
    set_limit("port_volts", 11.2, version=1, edition="page 4", from_memory=True)
    now = LimitVersion.objects.in_force()["port_volts"]
    assert now.band is not None
    assert now.band.value == 11.2
    assert now.source_words == "a maker's data sheet; page 4; from memory, confirm"
    first, second = LimitVersion.objects.order_by("number")
    assert (first.is_current, second.is_current) == (False, True)
    assert (first.content["value"], first.written_by) == (11, "Mara Voss")
    assert Event.objects.filter(verb="set limit").count() == 2


def test_of_two_people_the_slower_is_refused_and_the_same_again_writes_nothing() -> None:
    set_limit("port_volts", 11)
    with pytest.raises(Clash):
        set_limit("port_volts", 12)
    set_limit("port_volts", 11, version=1)
    assert LimitVersion.objects.count() == 1


@pytest.mark.parametrize(
    ("code", "value", "fields", "field"),
    [
        ("port_volts", 0, {}, "low"),
        ("fuse_share", 1.2, {}, "low"),
        ("port_volts", 11, {"source": " "}, "source"),
        ("port_volts", 11, {"why": ""}, "why"),
    ],
)
def test_a_value_that_cannot_be_or_has_no_source_is_refused(
    code: str, value: float, fields: dict[str, str], field: str
) -> None:
    with pytest.raises(ValidationError) as refused:
        set_limit(code, value, **fields)
    assert field in refused.value.message_dict
    assert not LimitVersion.objects.exists()


def test_a_stored_value_that_can_no_longer_be_gives_way_to_the_starting_value() -> None:
    set_limit("port_volts", 11)
    LimitVersion.objects.update(content={"value": -3, "low": -3, "high": -3})
    assert LimitVersion.objects.in_force() == START


def test_a_proof_falls_only_where_its_reading_no_longer_meets_the_limit(proven: Fitting) -> None:
    set_limit("port_volts", 12)
    assert standing(proven.vehicle) == "good"
    assert not Reverification.objects.open().exists()

    set_limit("port_volts", 12.6, version=1)
    assert standing(proven.vehicle) == "stale"
    assert "12.4 V measured in tow, at least 12.6 V wanted." in " ".join(asked_of(proven.vehicle))
    assert Reverification.objects.open().get().cause == Reverification.Cause.LIMIT

    set_limit("port_volts", 12.4, version=2)
    assert standing(proven.vehicle) == "good"
    assert asked_of(proven.vehicle) == []


def test_a_proof_is_signed_by_the_limit_in_force(
    ines: Customer, crestline: ModelRange, transmitter: ComponentKind
) -> None:
    fitting = fit(transmitter, own(ines))
    set_limit("port_volts", 12.6)
    with pytest.raises(ValidationError, match=r"at least 12\.6 V is wanted"):
        prove(fitting)
    told = changes.sign_verification(
        vehicle=fitting.vehicle, measured=readings(fitting, 12.7), proven_on=TODAY, **BY
    )
    assert told.measured[0]["volts"] == 12.7


def test_a_reading_counts_only_for_the_wiring_it_was_taken_on(proven: Fitting) -> None:
    proof = proven.vehicle.verifications.get()
    now = judging.judge_vehicle(proven.vehicle)
    assert list(judging.readings_of(proof, now).values()) == [12.4]
    proof.fingerprint = "of another wiring"
    assert judging.readings_of(proof, now) == {}


def test_what_numbers_found_is_kept_until_something_it_hangs_on_differs(
    proven: Fitting, monkeypatch: pytest.MonkeyPatch
) -> None:
    worked: list[int] = []
    real = judging.reckon

    def counting(*args: Any, **kwargs: Any) -> Any:
        worked.append(1)
        return real(*args, **kwargs)

    monkeypatch.setattr(judging, "reckon", counting)
    changes.settle(vehicle_ids=[proven.vehicle_id], cause="nightly", **BY)
    assert worked == []
    set_limit("battery_ohm", 0.02)
    assert worked == [1]
    kept = Standing.objects.get(vehicle=proven.vehicle).numbers
    assert kept["key"]


def test_kept_findings_read_back_as_they_were(
    ines: Customer, crestline: ModelRange, transmitter: ComponentKind
) -> None:
    fitting = fit(transmitter, own(ines))
    set_limit("port_volts", 14)
    row = Standing.objects.get(vehicle=fitting.vehicle)
    assert Code.VOLTS_TOO_LOW in {found["code"] for found in row.numbers["found"]}
    before = (row.blocking, row.unknown, row.headline)
    changes.settle(vehicle_ids=[fitting.vehicle_id], cause="nightly", **BY)
    row.refresh_from_db()
    assert (row.blocking, row.unknown, row.headline) == before


def test_what_was_not_reached_at_once_is_reached_by_the_worker(
    proven: Fitting, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(limit_changes, "AT_ONCE", 0)
    set_limit("port_volts", 12.6)
    assert limit_changes.waiting() == 1
    assert standing(proven.vehicle) == "good"
    assert limit_changes.run_by_limits(today=TODAY) == 1
    assert limit_changes.waiting() == 0
    assert standing(proven.vehicle) == "stale"
    assert limit_changes.run_by_limits(today=TODAY) == 0


def test_a_limit_that_no_finding_hangs_on_judges_nobody(proven: Fitting) -> None:
    set_limit("hold_minutes", 20)
    assert limit_changes.waiting() == 0
    assert not limit_changes.preview("hold_minutes", START["hold_minutes"].content()).reaches


def test_a_preview_counts_and_writes_nothing(proven: Fitting) -> None:
    content = {"value": 12.6, "low": 12.6, "high": 12.6}
    found = limit_changes.preview("port_volts", content)
    assert (found.fitted, found.looked, found.changed, found.newly_blocked) == (1, 1, 1, 1)
    assert found.examples == (proven.vehicle,)
    same = limit_changes.preview("port_volts", START["port_volts"].content())
    assert (same.looked, same.changed) == (1, 0)
    assert not LimitVersion.objects.exists()
    assert standing(proven.vehicle) == "good"


def test_a_limit_s_reason_is_asked_of_the_service_too() -> None:
    with pytest.raises(KeyError):
        limits.set_limit(
            code="nothing_of_ours", content={}, typed={}, source="x", why="y", actor=BY["actor"]
        )
