"""Django's mail functions, turned into rows: a library's mails go through the outbox as well."""

import uuid
from collections.abc import Sequence

from django.conf import settings
from django.core.mail import EmailMessage, EmailMultiAlternatives
from django.core.mail.backends.base import BaseEmailBackend
from django.db import transaction

from shop.clock import now

from .services import Letter, queue_mail
from .services.queueing import NEVER_REPEAT


class QueueBackend(BaseEmailBackend):
    """Queue one message per recipient. Nothing is repeated after a crash: these are sign-in mails.

    Raises ValueError for what the outbox cannot keep: attachments and alternatives besides HTML.
    """

    def send_messages(self, email_messages: Sequence[EmailMessage]) -> int:
        for message in email_messages:
            for address in message.recipients():
                queue_mail(
                    Letter(
                        key=f"account:{uuid.uuid4()}",
                        kind="account",
                        to_address=address,
                        subject=str(message.subject),
                        text=str(message.body),
                        html=_html_of(message),
                        headers={
                            "Auto-Submitted": "auto-generated",
                            "Reply-To": ", ".join(message.reply_to) or settings.SHOP_EMAIL,
                        },
                        not_before=now(),
                        after_crash=NEVER_REPEAT,
                    )
                )
        if settings.REDIS_URL:
            transaction.on_commit(_wake)
        return len(email_messages)


def _html_of(message: EmailMessage) -> str:
    if message.attachments:
        raise ValueError("The outbox keeps no attachments.")
    html = ""
    if isinstance(message, EmailMultiAlternatives):
        for part in message.alternatives:
            content, kind = part
            if kind != "text/html":
                raise ValueError(f"The outbox keeps text and HTML, not {kind}.")
            html = str(content)
    return html


def _wake() -> None:
    # Only a process that talks to Redis has to load Celery.
    from shop.celery import wake  # noqa: PLC0415 -- see above

    wake("shop.tasks.deliver_waiting")
