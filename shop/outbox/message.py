"""From a row of the outbox to the message that goes over the wire, and what a header may hold."""

import re
from datetime import datetime
from email.headerregistry import Address
from email.message import EmailMessage
from email.policy import EmailPolicy
from email.utils import format_datetime, make_msgid

from django.conf import settings

from .models import OutgoingMail

# Programs read these, and none of them decodes. The standard library would write a link that is
# longer than a line as an encoded word, after which no mail program finds the way out in it.
_VERBATIM = {"list-unsubscribe", "list-unsubscribe-post", "list-id", "auto-submitted"}


class WirePolicy(EmailPolicy):
    """SMTP line ends, nothing beyond ASCII, and machine-read headers as they are."""

    def fold(self, name: str, value: str) -> str:
        if name.lower() in _VERBATIM:
            return f"{name}: {str(value).replace('>, <', '>,' + self.linesep + ' <')}{self.linesep}"
        folded: str = super().fold(name, value)
        return folded

    def fold_binary(self, name: str, value: str) -> bytes:
        if name.lower() in _VERBATIM:
            return self.fold(name, value).encode("ascii")
        folded: bytes = super().fold_binary(name, value)
        return folded


# No relay on the way has to be able to carry eight-bit text.
_WIRE = WirePolicy(linesep="\r\n", cte_type="7bit")

# Everything that some program somewhere takes for the end of a line or of a text.
_BREAKS = re.compile(r"[\x00-\x1f\x7f\x85\u2028\u2029\s]+")
_ADDRESS = re.compile(r"[^\s@<>()\[\],;:\\\"\x00-\x1f\x7f]+@[^\s@<>()\[\],;:\\\"\x00-\x1f\x7f]+")


class NotAnAddressError(ValueError):
    """The text cannot be an e-mail address."""


_ADDRESS_MAX = 254  # RFC 5321 by way of its erratum 1690, from memory


def one_line(text: str) -> str:
    """Return `text` without line breaks and other control characters, fit for a header.

    A name typed as "Ann<line break>Bcc: someone" becomes one harmless line, never a header.
    """
    if text.isprintable() and "  " not in text:
        return text.strip()
    return _BREAKS.sub(" ", text).strip()


def mail_address(typed: str) -> str:
    """Return the address, trimmed. Raises `NotAnAddressError` where none could be meant."""
    address = typed.strip()
    if not _ADDRESS.fullmatch(address) or len(address) > _ADDRESS_MAX:
        raise NotAnAddressError(f'"{one_line(typed)}" is not an e-mail address.')
    return address


def new_message_id() -> str:
    """Return a Message-ID of the shop's own domain; it is kept and reused if a send is repeated."""
    return make_msgid(domain=settings.SHOP_EMAIL.rpartition("@")[2])


def build_message(mail: OutgoingMail, *, at: datetime) -> EmailMessage:
    """Return the message as it is sent at the instant `at`: plain text, with HTML if there is any.

    Raises ValueError where a header or an address cannot be written.
    """
    message = EmailMessage(policy=_WIRE)
    message["From"] = _party(settings.SHOP_NAME, settings.SHOP_EMAIL)
    message["To"] = _party(mail.to_name, mail.to_address)
    message["Subject"] = mail.subject
    message["Date"] = format_datetime(at)
    message["Message-ID"] = mail.message_id
    for name, value in mail.headers.items():
        message[name] = value
    message.set_content(mail.text)
    if mail.html:
        message.add_alternative(mail.html, subtype="html")
    return message


def wire_address(address: str) -> str:
    """Return the address for the SMTP dialogue, with an international domain in its ASCII form.

    Raises ValueError where it cannot be written in ASCII: not every relay takes such an address.
    """
    local, _, domain = address.rpartition("@")
    if not local.isascii():
        raise NotAnAddressError(f'The part before the @ of "{address}" has letters beyond ASCII.')
    return f"{local}@{domain.encode('idna').decode('ascii')}"


def _party(name: str, address: str) -> Address:
    local, _, domain = wire_address(address).rpartition("@")
    return Address(display_name=name, username=local, domain=domain)
