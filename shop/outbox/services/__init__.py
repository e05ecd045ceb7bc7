"""Changing the outbox: `queue_mail` is the only way in, `deliver_waiting` the only way out."""

from .care import retry_mail, settle_mail
from .delivery import DeliveryReport, deliver_waiting
from .queueing import Letter, queue_mail, queue_mails, rewrite_mail, suppress_address

__all__ = [
    "DeliveryReport",
    "Letter",
    "deliver_waiting",
    "queue_mail",
    "queue_mails",
    "retry_mail",
    "rewrite_mail",
    "settle_mail",
    "suppress_address",
]
