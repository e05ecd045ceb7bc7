"""Letters lead with what keeps a vehicle from being towed, and never ask to prove what must not."""

from dataclasses import replace
from datetime import UTC, datetime

import pytest

from installs.models import Check, Fitting
from shop import changes
from shop.outbox.models import OutgoingMail
from shop.people.models import Customer
from shop.reminders.models import DueItem
from shop.reminders.reads import coming_up, overdue_by_risk, silences
from shop.reminders.services import deliver_round, run_tick
from shop.reminders.services.digest import write_digest
from tests.factories.people import UserFactory
from tests.factories.proving import BY, TODAY, fit, own, procedure, prove
from tests.factories.reminders import ReverifyRuleFactory, RuleFactory
from tests.shop.reminders.test_digest import DIGEST, ITEM
from vehicles.models import Vehicle

pytestmark = pytest.mark.django_db
NOW = datetime(2026, 11, 25, 17, tzinfo=UTC)
FORBIDDEN = {**procedure(), "verdict": "not_allowed", "steps": []}


@pytest.fixture(autouse=True)
def asked(settings, tmp_path):
    settings.PULLPIN_MAIL, settings.PULLPIN_MAILBOX = "maildir", tmp_path / "mailbox"
    return ReverifyRuleFactory(what="Prove the braking")


def the_letter() -> str:
    run_tick(now=NOW, today=TODAY)
    mail = OutgoingMail.objects.get()
    assert mail.text.count("\n\n\n") <= 1
    return mail.text


def failed(proven: Fitting, result: str = "failed") -> None:
    check, _ = Check.objects.get_or_create(slug="pull", name="Pull and hold")
    changes.record_inspection(
        vehicle=proven.vehicle, fitting=proven, check=check, done_on=TODAY, result=result, **BY
    )


def test_what_blocks_stands_before_what_is_due():
    words = ("The brake has no power while you tow.", "The relay is powered while you tow.")
    written = write_digest(replace(DIGEST, items=[replace(ITEM, blocks=words)]))
    for text in (written.text, written.html):
        lead = text.index("Please do not tow it before this is put right or confirmed:")
        assert lead < text.index(words[0]) < text.index(words[1]) < text.index("Load test of the")
    assert "Please do not tow" not in write_digest(DIGEST).text


def test_a_dead_port_is_said_in_the_words_of_who_tows(crestline, ines: Customer, transmitter):
    fit(transmitter, own(ines, plate="DEAD 1"), feed="fuse:F08")
    letter = the_letter()
    assert "- Transmitter has no power while you tow.\n" in letter
    assert letter.index("Transmitter has no power") < letter.index("* Prove the braking")
    assert "Nothing has been proven" not in letter


def test_a_failed_look_leads_and_is_told_once(proven: Fitting, ines: Customer):
    RuleFactory(
        kind=proven.component.kind, check_asked=Check.objects.create(slug="pull", name="Pull")
    )
    Check.objects.filter(slug="pull").update(name="Pull and hold")
    failed(proven)
    letter = the_letter()
    assert letter.count("Transmitter failed on 25 November 2026 (Pull and hold).") == 1
    assert "Please do not tow it before this" in letter
    assert "Due at once: failed when looked at on 25 November 2026; cure it" in letter
    assert "* Prove the braking" in letter


def test_cured_before_it_was_sent_it_is_not_said(proven: Fitting):
    failed(proven)
    run_tick(now=NOW, today=TODAY)
    failed(proven, "passed")
    assert deliver_round(now=NOW).sent == 0
    assert OutgoingMail.objects.get().withheld_why


def test_an_owner_is_told_not_to_tow_and_not_asked_for_a_proof(proven: Fitting):
    changes.revise_procedure(content=FORBIDDEN, vehicle=proven.vehicle, **BY)
    item = DueItem.objects.open().get()
    assert item.only_said
    letter = the_letter()
    assert "\nIt must not be towed on its own wheels.\n" in letter
    assert "  Source: Owner's manual" in letter
    assert "* Not to be towed on its own wheels" in letter
    assert "Please do not tow it on its own wheels" in letter
    for word in ("prove", "proof", "proven"):
        assert word not in letter.lower()


def test_it_is_no_work_for_the_desk_unless_nobody_could_be_written_to(proven: Fitting):
    user = UserFactory()
    changes.revise_procedure(content=FORBIDDEN, vehicle=proven.vehicle, **BY)
    run_tick(now=NOW, today=TODAY)
    later = TODAY.replace(year=TODAY.year + 1)
    assert not overdue_by_risk(user, later).exists()
    assert not coming_up(user, TODAY, later).exists()
    DueItem.objects.update(contact_on=None)
    assert not silences(user).exists()
    DueItem.objects.update(mails_sent=0)
    assert silences(user).count() == 1


def test_a_lifted_ban_ends_it_and_it_is_told_again_should_it_return(proven: Fitting):
    vehicle: Vehicle = proven.vehicle
    changes.revise_procedure(content=FORBIDDEN, vehicle=vehicle, **BY)
    first = DueItem.objects.open().get()
    changes.revise_procedure(content=procedure("F08"), vehicle=vehicle, **BY)
    first.refresh_from_db()
    assert (first.state, first.silence) == (
        "withdrawn",
        "No procedure in force forbids it any more.",
    )
    assert not DueItem.objects.open().exists()
    changes.revise_procedure(content=FORBIDDEN, vehicle=vehicle, **BY)
    assert DueItem.objects.open().get() != first


def test_a_new_day_keeps_the_day_on_which_it_was_noticed(proven: Fitting):
    changes.revise_procedure(content=FORBIDDEN, vehicle=proven.vehicle, **BY)
    later = TODAY.replace(year=TODAY.year + 1)
    changes.refresh_due(vehicle_ids=[proven.vehicle_id], today=later)
    assert DueItem.objects.open().get().due_on == TODAY


def test_a_proof_signed_ends_the_lead(proven: Fitting):
    failed(proven)
    failed(proven, "passed")
    prove(proven)
    run_tick(now=NOW, today=TODAY)
    assert not OutgoingMail.objects.exists()
