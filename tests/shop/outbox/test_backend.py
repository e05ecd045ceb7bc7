"""Django's mail functions become rows."""

import pytest
from django.core.mail import EmailMultiAlternatives, send_mail
from django.db import transaction

from shop.outbox.models import OutgoingMail

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def backend(settings):
    settings.EMAIL_BACKEND = "shop.outbox.backend.QueueBackend"


def test_each_recipient_gets_a_row_of_their_own_that_is_never_repeated():
    send_mail("Code", "123", None, ["a@mail.example", "b@mail.example"], html_message="<p>123</p>")
    rows = OutgoingMail.objects.order_by("to_address")
    assert [row.to_address for row in rows] == ["a@mail.example", "b@mail.example"]
    assert {(row.kind, row.after_crash, row.html) for row in rows} == {
        ("account", "never_repeat", "<p>123</p>")
    }


def test_a_rollback_takes_the_mail_along():
    with transaction.atomic():
        send_mail("Code", "123", None, ["a@mail.example"])
        transaction.set_rollback(True)
    assert not OutgoingMail.objects.exists()


def test_what_the_outbox_cannot_keep_is_refused_aloud():
    message = EmailMultiAlternatives("Paper", "see", None, ["a@mail.example"])
    message.attach("paper.pdf", b"x", "application/pdf")
    with pytest.raises(ValueError, match="attachments"):
        message.send()
