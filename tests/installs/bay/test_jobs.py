"""A job's sheet, its hold points, its proof and its frozen record, on real databases."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.core.exceptions import ValidationError
from django.db import DatabaseError, connection, transaction

from installs.models import Fitting, Job, JobRecord, JobStep, StepAnswer, Verification
from installs.services import bay, parts
from tests.factories.proving import MARA, TODAY, fed, procedure
from tests.installs.bay.conftest import NOW, TEO
from vehicles import services as vehicles
from vehicles.limits import set_limit

pytestmark = pytest.mark.django_db


def enter(job: Job, feed: str = "fuse:F21", serial: str = "T-1") -> Fitting:
    """Enter the transmitter in the records, as its step asks."""
    work = job.works.get()
    part = parts.add_component(actor=TEO, kind=work.kind, serial=serial)
    fitting = parts.fit_component(
        component=part, vehicle=job.vehicle, since=TODAY, ports=fed(feed), actor=TEO
    )
    bay.link_fitting(work=work, fitting=fitting, actor=TEO)
    return fitting


def entry(job: Job) -> str:
    """The key of the step that asks for the transmitter's entry."""
    return f"entered:w{job.works.get().pk}"


def states(job: Job) -> dict[str, str]:
    return dict(job.steps.filter(retired=False).values_list("key", "state"))


def test_the_sheet_asks_only_what_the_job_is_about(job: Job) -> None:
    keys = list(states(job))

    assert "link_trial" in keys
    assert "stop_fuse_out" not in keys
    assert keys.index("link_trial") < keys.index("link_for_good")
    assert "prepare:s2" in keys  # the fuse that the procedure pulls
    assert len(keys) == len(set(keys))


def test_a_hold_point_holds_what_comes_after_it(job: Job, answer) -> None:
    with pytest.raises(ValidationError, match="Hold point, first: Read the last digits"):
        answer(job, "odometer", number="41,250 mi")
    assert StepAnswer.objects.count() == 0

    answer(job, "identity_vin", text="000123")
    answer(job, "odometer", number="41,250 mi")
    assert states(job)["odometer"] == "passed"


def test_a_hold_point_is_settled_only_after_all_before_it(job: Job, answer) -> None:
    answer(job, "identity_vin", text="000123")

    with pytest.raises(ValidationError, match="This is a hold point; before it"):
        answer(job, "owner_pulls", choice="same")


def test_the_database_itself_refuses_to_pass_a_hold_point(job: Job, answer) -> None:
    later = job.steps.get(key="odometer")
    with pytest.raises(DatabaseError), transaction.atomic():
        JobStep.objects.filter(pk=later.pk).update(state="passed")

    answer(job, "identity_vin", text="000123")
    held = job.steps.get(key="owner_pulls")
    with pytest.raises(DatabaseError), transaction.atomic():
        JobStep.objects.filter(pk=held.pk).update(state="declined")
    assert JobStep.objects.filter(pk=later.pk).update(state="passed") == 1


def test_the_database_itself_keeps_answers_as_they_were(job: Job, answer) -> None:
    given = answer(job, "identity_vin", text="000123")

    for change in (
        lambda: StepAnswer.objects.filter(pk=given.pk).update(state="failed"),
        lambda: StepAnswer.objects.filter(pk=given.pk).delete(),
    ):
        with pytest.raises(DatabaseError), transaction.atomic():
            change()


def test_another_vehicle_is_noticed_before_anything_is_done(job: Job, answer) -> None:
    given = answer(job, "identity_vin", text="1ZZDT5A18CP000999")

    assert given.state == "failed"
    assert "the records say 000123" in given.sentence
    with pytest.raises(ValidationError, match="Hold point"):
        answer(job, "odometer", number="41,250 mi")


def test_the_same_answer_twice_is_one(job: Job) -> None:
    same = {"job": job, "key": "identity_vin", "client_id": uuid4(), "at": NOW, "actor": TEO}

    first = bay.answer_step(**same, raw={"text": "000123"})
    again = bay.answer_step(**same, raw={"text": "000123"})

    assert first.pk == again.pk
    assert StepAnswer.objects.count() == 1


def test_two_who_did_not_see_each_other_leave_both_answers(job: Job, answer) -> None:
    answer(job, "identity_vin", text="000123")
    answer(job, "odometer", number="41,250 mi", seen=0)
    answer(job, "odometer", number="41,520 mi", seen=0, actor=MARA)

    assert states(job)["odometer"] == "contested"
    answer(job, "odometer", number="41,250 mi", seen=2)
    assert states(job)["odometer"] == "passed"
    assert job.steps.get(key="odometer").answers.count() == 3


def test_a_job_stops_where_the_vehicle_may_not_be_towed(job: Job, answer_until, answer) -> None:
    content = {"verdict": "not_allowed", "source": procedure("F08")["source"]}
    answer_until(job, "fit_check")
    vehicles.revise_procedure(content=content, actor=MARA, vehicle=job.vehicle)

    given = answer(job, "fit_check", choice="allowed")

    assert given.state == "failed"
    assert "the records say otherwise" in given.sentence
    job.refresh_from_db()
    assert job.status == "waiting_on"
    assert "May this vehicle be towed" in job.waits_for


def test_a_smooth_job_ends_in_a_proof_and_a_frozen_record(job: Job, answer_until) -> None:
    answer_until(job, entry(job))
    fitting = enter(job)
    answer_until(job)

    job.refresh_from_db()
    assert job.status == "to_be_handed_over"
    record = bay.close_job(job=job, today=TODAY, now=NOW, actor=TEO)

    proof = Verification.objects.get()
    assert record.verification == proof
    assert proof.measured == [
        {
            "component": f"c{fitting.component_id}",
            "port": "supply",
            "state": "tow",
            "volts": 12.4,
            "minutes_since_key_off": 40.0,
        }
    ]
    job.refresh_from_db()
    assert job.status == "closed"
    assert bay.record_faults(record) == []
    with pytest.raises(DatabaseError), transaction.atomic():
        JobRecord.objects.filter(pk=record.pk).update(sha256="0" * 64)
    with pytest.raises(ValidationError, match="This job is closed"):
        bay.answer_step(job=job, key="odometer", raw={}, client_id=uuid4(), at=NOW, actor=TEO)


def test_an_open_step_keeps_the_job_open_and_is_named(job: Job, answer_until) -> None:
    answer_until(job, entry(job))
    enter(job)
    answer_until(job, "questions")

    with pytest.raises(ValidationError) as refused:
        bay.close_job(job=job, today=TODAY, now=NOW, actor=TEO)
    assert any("The customer signs" in told for told in refused.value.messages)
    assert not JobRecord.objects.exists()


def test_what_was_proven_of_other_wiring_is_to_be_proven_again(
    job: Job, answer_until, answer
) -> None:
    answer_until(job, entry(job))
    fitting = enter(job)
    answer_until(job, "restore:r2")
    key = f"volts_tow:c{fitting.component_id}.supply@tow"
    assert states(job)[key] == "passed"

    parts.change_fitting(fitting=fitting, changes={"ports": fed("fuse:F12")}, version=1, actor=TEO)
    bay.refresh_sheets(vehicle_ids=[job.vehicle_id])

    assert states(job)[key] == "again"
    assert states(job)["tow_state_reached"] == "again"
    assert states(job)["odometer"] == "passed"


def test_a_dead_port_fails_and_its_cure_is_proven_again(job: Job, answer_until, answer) -> None:
    answer_until(job, entry(job))
    fitting = enter(job)
    key = f"volts_tow:c{fitting.component_id}.supply@tow"
    answer_until(job, key)

    early = answer(job, key, volts="12.4", minutes="2")
    assert early.state == "failed"
    assert "too early" in early.sentence
    dead = answer(job, key, volts="0.1 V", minutes="40")
    assert dead.state == "failed"
    with pytest.raises(ValidationError) as asked:
        answer(job, key, volts="", minutes="40")
    assert asked.value.message_dict == {
        "volts": ["Measure the volts here. Nothing measured is not proven."]
    }


def test_addenda_are_chained_and_tampering_shows(job: Job, answer_until) -> None:
    answer_until(job, entry(job))
    enter(job)
    answer_until(job)
    record = bay.close_job(job=job, today=TODAY, now=NOW, actor=TEO)
    one = {"record": record, "now": NOW, "actor": MARA}
    bay.add_addendum(**one, text="The bolt is an M10.", reason="Written down wrong.")
    bay.add_addendum(**one, text="Photo 3 shows the left side.", reason="Mixed up.")
    assert bay.record_faults(record) == []

    # A hand in the database, past every trigger.
    drop = (
        "DROP TRIGGER installs_addendum_no_update"
        if connection.vendor == "sqlite"
        else "DROP TRIGGER installs_addendum_no_change ON installs_addendum"
    )
    with connection.cursor() as cursor:
        cursor.execute(drop)
    record.addenda.filter(number=1).update(text="The bolt is an M12.")
    assert bay.record_faults(record) == ["Addendum 1 does not agree with its digest."]


def test_time_on_a_job_is_kept_one_clock_a_person(job: Job) -> None:
    bay.clock_in(job=job, user_id=2, now=NOW, actor=TEO)
    bay.clock_in(job=job, user_id=2, now=NOW + timedelta(minutes=5), actor=TEO)
    bay.clock_out(job=job, user_id=2, now=NOW + timedelta(minutes=90), actor=TEO)

    time = job.times.get()
    assert time.ended_at - time.began_at == timedelta(minutes=90)
    job.refresh_from_db()
    assert job.status == "in_hand"


def test_status_goes_only_where_the_table_allows(job: Job) -> None:
    with pytest.raises(ValidationError, match="cannot become to be handed over"):
        bay.move_job(job=job, to="to_be_handed_over", actor=MARA)
    with pytest.raises(ValidationError, match="Say what it waits on"):
        bay.move_job(job=job, to="waiting_on", actor=MARA)
    Job.objects.filter(pk=job.pk).update(status="to_be_handed_over")
    with pytest.raises(ValidationError, match="closed with its record"):
        bay.move_job(job=job, to="closed", actor=MARA)


def test_the_least_at_a_port_is_the_shop_s_own_limit(job: Job, answer_until, answer) -> None:
    answer_until(job, entry(job))
    fitting = enter(job)
    key = f"volts_tow:c{fitting.component_id}.supply@tow"
    answer_until(job, key)
    set_limit(
        code="port_volts",
        content={"value": 12.5, "low": 12.5, "high": 12.5},
        typed={"value": "12.5"},
        source="our own readings",
        why="units alarm below it",
        actor=MARA,
    )

    given = answer(job, key, volts="12.4", minutes="40")

    assert given.state == "failed"
    assert "at least 12.5 V is wanted" in given.sentence
