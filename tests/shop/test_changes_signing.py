"""Signing a proof, doubting it, and telling what comes on top."""

from datetime import timedelta

import pytest
from django.core.exceptions import ValidationError

from installs.models import ComponentKind, Fitting, Reverification
from installs.services.judging import judge_vehicle
from shop import changes
from shop.people.models import Customer
from tests.factories.proving import (
    BY,
    TODAY,
    asked_of,
    fit,
    own,
    procedure,
    prove,
    readings,
    standing,
)
from vehicles.models import ModelRange

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize(
    ("volts", "minutes", "sentence"),
    [
        (12.4, 2, "too early"),
        (12.4, None, "how many minutes"),
        (0.3, 40, "at least 10.5 V"),
    ],
)
def test_a_reading_that_proves_nothing_is_refused_with_its_reason(
    ines: Customer,
    crestline: ModelRange,
    transmitter: ComponentKind,
    volts: float,
    minutes: float | None,
    sentence: str,
) -> None:
    fitting = fit(transmitter, own(ines))
    with pytest.raises(ValidationError, match=sentence):
        changes.sign_verification(
            vehicle=fitting.vehicle,
            measured=readings(fitting, volts, minutes),
            proven_on=TODAY,
            **BY,
        )
    assert standing(fitting.vehicle) == "never"


def test_an_unknown_feed_blocks_the_signature(
    ines: Customer, crestline: ModelRange, transmitter: ComponentKind
) -> None:
    fitting = fit(transmitter, own(ines), feed="unknown")
    with pytest.raises(ValidationError):
        prove(fitting)
    assert not fitting.vehicle.verifications.exists()


def test_work_done_elsewhere_makes_a_good_proof_doubtful_until_it_is_proven_again(
    proven: Fitting,
) -> None:
    changes.report_outside_work(vehicle=proven.vehicle, told="Brake switch replaced.", **BY)
    assert standing(proven.vehicle) == "stale"
    changes.settle(vehicle_ids=[proven.vehicle_id], cause=Reverification.Cause.NIGHTLY, **BY)
    assert asked_of(proven.vehicle)[0] == "Brake switch replaced."
    assert standing(proven.vehicle) == "stale"
    prove(proven)
    assert standing(proven.vehicle) == "good"


def test_a_proof_is_signed_only_on_what_the_signer_saw(
    proven: Fitting, crestline: ModelRange
) -> None:
    seen = judge_vehicle(proven.vehicle).fingerprint
    changes.revise_procedure(content=procedure("F08", "F12"), model_range=crestline, **BY)
    with pytest.raises(ValidationError, match="changed while this was measured"):
        changes.sign_verification(
            vehicle=proven.vehicle,
            measured=readings(proven),
            proven_on=TODAY,
            fingerprint=seen,
            **BY,
        )
    assert standing(proven.vehicle) == "stale"


@pytest.mark.parametrize(
    ("day", "sentence"),
    [(timedelta(days=1), "still to come"), (-timedelta(days=1), "measure after")],
)
def test_a_proof_has_a_day_that_can_be(proven: Fitting, day: timedelta, sentence: str) -> None:
    with pytest.raises(ValidationError, match=sentence):
        changes.sign_verification(
            vehicle=proven.vehicle, measured=readings(proven), proven_on=TODAY + day, **BY
        )


def test_an_older_proof_entered_late_does_not_go_before_the_newest(proven: Fitting) -> None:
    Fitting.objects.filter(pk=proven.pk).update(since=TODAY - timedelta(days=9))
    changes.sign_verification(
        vehicle=proven.vehicle,
        measured=readings(proven),
        proven_on=TODAY - timedelta(days=1),
        **BY,
    )
    assert standing(proven.vehicle) == "good"
    assert not Reverification.objects.open().exists()


def test_what_comes_on_top_is_asked_for_anew_so_that_it_is_told(
    proven: Fitting, crestline: ModelRange
) -> None:
    changes.revise_procedure(content=procedure("F08", "F12"), model_range=crestline, **BY)
    first = Reverification.objects.open().get()
    changes.revise_procedure(content=procedure("F08", "F12", "F21"), model_range=crestline, **BY)
    second = Reverification.objects.open().get()
    assert second.pk != first.pk
    assert second.opened_on == first.opened_on
    changes.revise_procedure(content=procedure("F08", "F12"), model_range=crestline, **BY)
    assert Reverification.objects.open().get().pk == second.pk, "less is no news"


def test_every_report_of_work_elsewhere_is_kept_and_the_old_proofs_stay_as_they_were(
    proven: Fitting,
) -> None:
    for told in ("Brake switch replaced.", "New radio."):
        changes.report_outside_work(vehicle=proven.vehicle, told=told, **BY)
        changes.settle(vehicle_ids=[proven.vehicle_id], cause="nightly", **BY)
    assert asked_of(proven.vehicle)[:2] == ["Brake switch replaced.", "New radio."]
    prove(proven)
    old, new = proven.vehicle.verifications.order_by("id")
    assert (old.stale_on, new.stale_on) == (TODAY, None)
