"""The outbox against a real mail server: what is sent, tried again, given up, doubted."""

from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta

import pytest
from django.db import IntegrityError

from shop.outbox.message import NotAnAddressError
from shop.outbox.models import OutgoingMail, Suppression
from shop.outbox.services import (
    Letter,
    deliver_waiting,
    queue_mail,
    queue_mails,
    retry_mail,
    settle_mail,
)
from shop.outbox.services.delivery import ATTEMPTS_MAX, CLAIM_LASTS, claim_mail
from shop.outbox.services.queueing import NEVER_REPEAT
from tests.factories.people import CustomerFactory, EmailFactory
from tests.smtp import Sink, mail_server
from vehicles.models import Event
from vehicles.records import Actor

pytestmark = pytest.mark.django_db
NOW = datetime(2026, 3, 2, 18, 0, tzinfo=UTC)
DESK = Actor("Desk")


@pytest.fixture
def sink(settings) -> Iterator[Sink]:
    with mail_server() as (sink, port):
        settings.PULLPIN_MAIL = "smtp"
        settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", port
        yield sink


def letter(key: str = "a", **fields) -> Letter:
    given = {
        "to_address": "wren@mail.example",
        "subject": "Hello",
        "text": "Text",
        "kind": "note",
        "not_before": NOW,
    }
    return Letter(key=key, **{**given, **fields})


def send(now: datetime = NOW, recheck=lambda mail, now: None):
    return deliver_waiting(now=now, recheck=recheck)


def state(mail: OutgoingMail) -> str:
    mail.refresh_from_db()
    return mail.state


def test_a_key_is_queued_once():
    first = queue_mail(letter())
    again = queue_mail(letter(subject="Other"))
    assert again == first
    assert OutgoingMail.objects.get().subject == "Hello"


def test_many_are_queued_all_or_none():
    queue_mail(letter("b"))
    with pytest.raises(IntegrityError):
        queue_mails([letter("a"), letter("b")])
    assert OutgoingMail.objects.count() == 1


def test_sent_with_the_message_id_of_queueing(sink):
    mail = queue_mail(letter())
    assert send().sent == 1
    assert state(mail) == "sent"
    assert sink.count == {mail.message_id: 1}


def test_what_is_not_yet_time_waits(sink):
    mail = queue_mail(letter(not_before=NOW + timedelta(hours=1)))
    send()
    assert (state(mail), len(sink.messages)) == ("queued", 0)


def test_a_line_break_in_a_name_or_subject_never_makes_a_header(sink):
    """An address book entry "Ann<line break>Bcc: x" must not add a recipient."""
    queue_mail(
        letter(
            to_name="Ann\r\nBcc: x@example.com",
            subject="Your\nBcc: y@example.com\u2028car",
            headers={"Reply-To": "desk@quillcreek.example\r\nBcc: z@example.com"},
        )
    )
    assert send().sent == 1
    message = sink.messages[0]
    assert message["Bcc"] is None
    assert message["Subject"] == "Your Bcc: y@example.com car"
    assert [a.addr_spec for a in message["To"].addresses] == ["wren@mail.example"]
    assert not any(b"\nBcc:" in raw for raw in sink.raw)


@pytest.mark.parametrize("address", ["", "wren", "a b@c.example", "a@b\r\nBcc: x", "a@b>, <c@d"])
def test_what_is_no_address_is_refused_at_queueing(address):
    with pytest.raises(NotAnAddressError):
        queue_mail(letter(to_address=address))


def test_a_long_accented_subject_and_name_survive(sink):
    subject = ("Prüfung der Abreißbatterie für Ihr Wohnmobil – " * 5)[:200].strip()
    name = ("Zoë-Ægir d'Ångström-Ñandú " * 4)[:80].strip()
    queue_mail(letter(subject=subject, to_name=name))
    send()
    message = sink.messages[0]
    assert message["Subject"] == subject
    assert all(len(line) <= 998 for line in sink.raw[0].split(b"\r\n"))
    assert sink.raw[0].isascii()


def test_a_dot_alone_on_a_line_does_not_end_the_message(sink):
    queue_mail(letter(text="before\n.\n..two\nafter\n"))
    send()
    assert sink.messages[0].get_content().splitlines() == ["before", ".", "..two", "after"]


def test_a_temporary_refusal_is_tried_again_later(sink):
    mail = queue_mail(letter())
    sink.at_rcpt["wren@mail.example"] = "451 4.7.1 greylisted"
    assert send().later == 1
    assert state(mail) == "queued"
    assert NOW + timedelta(seconds=60) <= mail.not_before < NOW + timedelta(seconds=90)
    assert "greylisted" in mail.last_error
    sink.at_rcpt.clear()
    assert send(NOW + timedelta(minutes=2)).sent == 1


def test_after_two_days_of_refusals_a_person_decides(sink):
    mail = queue_mail(letter())
    sink.at_rcpt["wren@mail.example"] = "451 4.7.1 greylisted"
    now = NOW
    for _ in range(ATTEMPTS_MAX):
        send(now)
        mail.refresh_from_db()
        now = mail.not_before + timedelta(seconds=1)
    assert mail.state == "failed"
    assert timedelta(hours=40) < now - NOW < timedelta(hours=72)
    assert list(OutgoingMail.objects.needing_a_person()) == [mail]


def test_a_dead_address_is_marked_with_every_customer_who_uses_it(sink):
    one, two = EmailFactory(address="wren@mail.example"), EmailFactory(address="Wren@mail.example")
    mail = queue_mail(letter(customer_id=one.customer_id))
    sink.at_rcpt["wren@mail.example"] = "550 5.1.1 no such user"
    assert send().failed == 1
    assert state(mail) == "failed"
    for row in (one, two):
        row.refresh_from_db()
        assert row.broken_since == date(2026, 3, 2)
        assert "no such user" in row.broken_why
    assert Event.objects.filter(verb="marked as not working").count() == 2


def test_a_refusal_by_policy_does_not_blame_the_address(sink):
    row = EmailFactory(address="wren@mail.example")
    queue_mail(letter(customer_id=row.customer_id))
    sink.at_rcpt["wren@mail.example"] = "550 5.7.1 blocked by policy"
    assert send().failed == 1
    row.refresh_from_db()
    assert row.broken_since is None


def test_a_bad_message_does_not_stop_the_others(sink):
    bad = queue_mail(letter("bad", to_address="zoë@mail.example"))
    refused = queue_mail(letter("no", to_address="no@mail.example"))
    good = queue_mail(letter("good"))
    sink.at_rcpt["no@mail.example"] = "554 5.3.0 no"
    report = send()
    assert (report.failed, report.sent) == (2, 1)
    assert (state(bad), state(refused), state(good)) == ("failed", "failed", "sent")


def test_no_answer_after_the_message_is_a_doubt_and_repeated_once(sink):
    mail = queue_mail(letter())
    sink.after_data["wren@mail.example"] = "drop"
    send()
    assert (state(mail), mail.crashes) == ("queued", 1)
    send(NOW + timedelta(minutes=1))
    assert (state(mail), mail.crashes) == ("unsure", 2)


def test_no_answer_is_never_followed_by_a_repeat_where_that_is_forbidden(sink):
    mail = queue_mail(letter(after_crash=NEVER_REPEAT))
    sink.after_data["wren@mail.example"] = "drop"
    assert send().unsure == 1
    assert state(mail) == "unsure"


def test_without_a_server_everything_waits_and_no_try_is_counted(settings):
    settings.PULLPIN_MAIL = "smtp"
    settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", 1
    mail = queue_mail(letter())
    assert "cannot be used" in send().no_server
    assert (state(mail), mail.attempts) == ("queued", 0)


def test_two_processes_cannot_claim_one_message():
    mail = queue_mail(letter())
    assert claim_mail(mail.pk, now=NOW) is not None
    assert claim_mail(mail.pk, now=NOW) is None


@pytest.mark.parametrize(
    ("fields", "crashes", "after"),
    [
        ({}, 0, "queued"),
        ({}, 1, "unsure"),
        ({"after_crash": NEVER_REPEAT}, 0, "unsure"),
    ],
)
def test_the_claim_of_a_dead_process_is_taken_back(settings, tmp_path, fields, crashes, after):
    settings.PULLPIN_MAILBOX = tmp_path / "mailbox"
    mail = queue_mail(letter(**fields))
    OutgoingMail.objects.update(crashes=crashes)
    claim_mail(mail.pk, now=NOW)
    send(NOW + CLAIM_LASTS - timedelta(seconds=1))
    assert state(mail) == "claimed"
    tomorrow = NOW + timedelta(days=1)
    send(NOW + CLAIM_LASTS + timedelta(seconds=1), recheck=lambda mail, now: tomorrow)
    assert state(mail) == after
    assert mail.crashes == crashes + 1


def test_too_late_is_withheld(sink):
    mail = queue_mail(letter(send_before=NOW + timedelta(days=1)))
    send(NOW + timedelta(days=2))
    assert (state(mail), len(sink.messages)) == ("withheld", 0)


def test_a_silenced_address_gets_none_of_that_category_but_safety(sink):
    Suppression.objects.create(address="wren@mail.example", category="service", why="asked")
    Suppression.objects.create(address="wren@mail.example", category="safety", why="by hand")
    service = queue_mail(letter("s", category="service", to_address="Wren@mail.example"))
    safety = queue_mail(letter("d", category="safety"))
    send()
    assert (state(service), state(safety)) == ("withheld", "sent")
    assert "asked for no more" in service.withheld_why


def test_a_broken_address_is_not_tried_again(sink):
    row = EmailFactory(address="wren@mail.example", broken_since=date(2026, 1, 1))
    mail = queue_mail(letter(customer_id=row.customer_id))
    send()
    assert state(mail) == "withheld"


def test_the_last_look_can_withhold_or_postpone(sink):
    no, later = queue_mail(letter("no")), queue_mail(letter("later"))
    at = NOW + timedelta(hours=14)
    answers = {no.pk: "Not sent: booked for 12 May 2026.", later.pk: at}
    report = send(recheck=lambda mail, now: answers[mail.pk])
    assert (report.withheld, report.later, len(sink.messages)) == (1, 1, 0)
    assert (state(no), no.withheld_why) == ("withheld", "Not sent: booked for 12 May 2026.")
    assert (state(later), later.not_before, later.attempts) == ("queued", at, 0)


def test_whoever_counted_on_a_message_hears_that_it_never_goes(sink):
    sink.at_rcpt["never@mail.example"] = "554 5.3.0 no"
    sink.at_rcpt["later@mail.example"] = "451 4.3.0 later"
    late = queue_mail(letter("late", send_before=NOW - timedelta(days=1)))
    never = queue_mail(letter("never", to_address="never@mail.example"))
    queue_mail(letter("later", to_address="later@mail.example"))
    queue_mail(letter("sent"))
    heard: list[int] = []
    deliver_waiting(
        now=NOW, recheck=lambda mail, now: None, unsent=lambda mail, now: heard.append(mail.pk)
    )
    assert heard == [late.pk, never.pk]


def test_a_message_is_not_given_up_where_nobody_could_be_told(sink):
    mail = queue_mail(letter(send_before=NOW - timedelta(days=1)))

    def unsent(mail: OutgoingMail, now: datetime) -> None:
        raise LookupError("no ledger")

    with pytest.raises(LookupError):
        deliver_waiting(now=NOW, recheck=lambda mail, now: None, unsent=unsent)
    assert state(mail) == "claimed"


def test_a_person_may_try_again_or_leave_it(sink):
    sink.at_rcpt["wren@mail.example"] = "554 5.3.0 no"
    one, two = queue_mail(letter("one")), queue_mail(letter("two"))
    send()
    sink.at_rcpt.clear()
    retried = retry_mail(mail=one, now=NOW, actor=DESK, why="they fixed it")
    settle_mail(mail=two, now=NOW, actor=DESK, why="phoned")
    send()
    assert (state(retried), state(two)) == ("sent", "failed")
    assert not OutgoingMail.objects.needing_a_person().exists()
    assert {"sent again", "settled mail"} <= set(Event.objects.values_list("verb", flat=True))
    assert sink.count == {one.message_id: 1}


def test_mail_kept_on_disk(settings, tmp_path):
    settings.PULLPIN_MAIL, settings.PULLPIN_MAILBOX = "maildir", tmp_path / "mailbox"
    mail = queue_mail(letter(text="Grüße", html="<p>Grüße</p>"))
    assert send().sent == 1
    files = list((tmp_path / "mailbox" / "new").iterdir())
    assert len(files) == 1
    assert mail.message_id.encode() in files[0].read_bytes()


def test_a_customer_taken_off_the_records_leaves_the_mail(sink):
    customer = CustomerFactory()
    mail = queue_mail(letter(customer_id=customer.pk))
    customer.delete()
    send()
    assert (state(mail), mail.customer_id) == ("sent", None)
