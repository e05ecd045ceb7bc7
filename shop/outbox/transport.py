"""How a message leaves this machine: handed to a mail server, or laid into a folder on disk."""

import mailbox
import re
import smtplib
import ssl
from email.message import EmailMessage
from pathlib import Path
from types import TracebackType
from typing import Protocol, Self

from django.conf import settings

# RFC 3463: 5.1.x is about the address itself, the other 5.x.x are about mailboxes, mail systems
# or policy, none of which says that the address is wrong. Read from memory.
_BAD_ADDRESS = re.compile(r"\b5\.1\.\d{1,3}\b")
_OTHER_STATUS = re.compile(r"\b5\.[02-7]\.\d{1,3}\b")
# RFC 5321 section 4.2.3: mailbox unavailable, not local, or its name not allowed. From memory.
_NO_SUCH_MAILBOX = {550, 551, 553}
_TAKEN, _WILL_FORWARD, _GO_AHEAD, _FOR_GOOD = 250, 251, 354, 500


class NotSentError(Exception):
    """The message certainly did not go out. It may be tried again later."""


class RefusedError(NotSentError):
    """The mail server will never take this message. `address_is_dead` blames the recipient."""

    def __init__(self, said: str, *, address_is_dead: bool = False) -> None:
        super().__init__(said)
        self.address_is_dead = address_is_dead


class MayBeSentError(Exception):
    """The whole message was handed over and no answer came: it may or may not have gone out."""


class NoServerError(Exception):
    """The mail server cannot be reached or lets nobody in. No message was touched."""


class Transport(Protocol):
    """A way out. Use it as a context manager; entering may raise `NoServerError`."""

    def __enter__(self) -> Self: ...

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None: ...

    def send(self, message: EmailMessage, *, sender: str, to: str) -> None:
        """Hand over one message.

        Raises `NotSentError`, `RefusedError`, `MayBeSentError` or `NoServerError`.
        """


class MailboxTransport:
    """Lay each message into a maildir folder, where the outbox page and mail programs find it."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def __enter__(self) -> Self:
        self.folder.parent.mkdir(parents=True, exist_ok=True)
        self.box = mailbox.Maildir(self.folder, create=True)
        return self

    def __exit__(self, *_: object) -> None:
        self.box.close()

    def send(self, message: EmailMessage, *, sender: str, to: str) -> None:
        try:
            self.box.add(message.as_bytes())
        except OSError as error:
            raise NotSentError(f"The mailbox folder could not be written: {error}") from error


class SmtpTransport:
    """One connection to the mail server for the whole round, opened again when it breaks."""

    def __init__(self) -> None:
        self.server: smtplib.SMTP | None = None

    def __enter__(self) -> Self:
        self._connect()
        return self

    def __exit__(self, *_: object) -> None:
        if self.server is not None:
            try:
                self.server.quit()
            except (smtplib.SMTPException, OSError):
                self.server.close()
            self.server = None

    def send(self, message: EmailMessage, *, sender: str, to: str) -> None:
        server = self.server or self._connect()
        try:
            self._offer(server, sender, to)
            self._hand_over(server, message)
        except smtplib.SMTPServerDisconnected as error:
            self._drop()
            raise NotSentError(f"The mail server closed the connection: {error}") from error
        except OSError as error:
            self._drop()
            raise NotSentError(f"The connection to the mail server broke: {error}") from error

    def _connect(self) -> smtplib.SMTP:
        host, port, wait = settings.EMAIL_HOST, settings.EMAIL_PORT, settings.EMAIL_TIMEOUT
        try:
            if settings.EMAIL_USE_SSL:
                context = ssl.create_default_context()
                self.server = smtplib.SMTP_SSL(host, port, timeout=wait, context=context)
            else:
                self.server = smtplib.SMTP(host, port, timeout=wait)
            if settings.EMAIL_USE_TLS:
                self.server.starttls(context=ssl.create_default_context())
            if settings.EMAIL_HOST_USER:
                self.server.login(settings.EMAIL_HOST_USER, settings.EMAIL_HOST_PASSWORD)
        except (smtplib.SMTPException, OSError) as error:
            self._drop()
            raise NoServerError(f"The mail server {host}:{port} cannot be used: {error}") from error
        return self.server

    def _offer(self, server: smtplib.SMTP, sender: str, to: str) -> None:
        server.ehlo_or_helo_if_needed()
        code, said = server.mail(sender)
        if code != _TAKEN:
            self._refuse(server, code, said)
        code, said = server.rcpt(to)
        if code not in {_TAKEN, _WILL_FORWARD}:
            self._refuse(server, code, said, at_recipient=True)

    def _hand_over(self, server: smtplib.SMTP, message: EmailMessage) -> None:
        """Send the body. Only from the last byte on can the message have been taken."""
        code, said = server.docmd("DATA")
        if code != _GO_AHEAD:
            self._refuse(server, code, said)
        server.send(_dotted(message.as_bytes()))
        try:
            code, said = server.getreply()
        except (smtplib.SMTPException, OSError) as error:
            self._drop()
            raise MayBeSentError(f"No answer came after the message: {error}") from error
        if code != _TAKEN:
            self._refuse(server, code, said)

    def _refuse(
        self, server: smtplib.SMTP, code: int, said: bytes, *, at_recipient: bool = False
    ) -> None:
        words = f"{code} {said.decode('utf-8', 'replace')}"
        try:
            # After a refusal the server may close (it says 421 first) or wait for the next one.
            server.rset()
        except (smtplib.SMTPException, OSError):
            self._drop()
        if code < _FOR_GOOD:
            raise NotSentError(words)
        raise RefusedError(words, address_is_dead=at_recipient and _is_dead(code, words))

    def _drop(self) -> None:
        if self.server is not None:
            self.server.close()
            self.server = None


def _is_dead(code: int, words: str) -> bool:
    """Return whether a refused recipient means that the address itself is wrong."""
    if _BAD_ADDRESS.search(words):
        return True
    return code in _NO_SUCH_MAILBOX and not _OTHER_STATUS.search(words)


def _dotted(body: bytes) -> bytes:
    """Return the body as SMTP carries it: a leading dot doubled, a dot alone as the end."""
    body = re.sub(rb"(?m)^\.", b"..", body)
    if not body.endswith(b"\r\n"):
        body += b"\r\n"
    return body + b".\r\n"


def chosen_transport() -> Transport:
    """Return the way out that the settings name."""
    if settings.PULLPIN_MAIL == "smtp":
        return SmtpTransport()
    return MailboxTransport(settings.PULLPIN_MAILBOX)
