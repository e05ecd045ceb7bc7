"""A real mail server for tests: it counts by Message-ID and answers what it is told to."""

import email
import email.policy
import socket
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from email.message import EmailMessage
from typing import Any

from aiosmtpd.controller import Controller
from aiosmtpd.smtp import Envelope, Session


class Sink:
    """What arrived. `replies` overrides the answer by recipient, at RCPT or after DATA."""

    def __init__(self) -> None:
        self.messages: list[EmailMessage] = []
        self.raw: list[bytes] = []
        self.at_rcpt: dict[str, str] = {}
        self.after_data: dict[str, str] = {}
        self.on_data: Any = None

    @property
    def count(self) -> Counter[str]:
        return Counter(str(message["Message-ID"]) for message in self.messages)

    async def handle_RCPT(  # noqa: N802 -- the server's own name for it
        self, server: Any, session: Session, envelope: Envelope, address: str, options: list[str]
    ) -> str:
        reply = self.at_rcpt.get(address)
        if reply:
            return reply
        envelope.rcpt_tos.append(address)
        return "250 OK"

    async def handle_DATA(  # noqa: N802 -- the server's own name for it
        self, server: Any, session: Session, envelope: Envelope
    ) -> str:
        reply = self.after_data.get(envelope.rcpt_tos[0])
        if reply == "drop":
            server.transport.abort()
            return "250 never read"
        if reply:
            return reply
        content = bytes(envelope.content or b"")
        self.raw.append(content)
        self.messages.append(email.message_from_bytes(content, policy=email.policy.default))
        if self.on_data:
            self.on_data()
        return "250 OK"


@contextmanager
def mail_server() -> Iterator[tuple[Sink, int]]:
    """Run a server on a free port; give what it collects and the port."""
    sink = Sink()
    with socket.create_server(("127.0.0.1", 0)) as probe:
        port: int = probe.getsockname()[1]
    controller = Controller(sink, hostname="127.0.0.1", port=port)
    controller.start()
    try:
        yield sink, port
    finally:
        controller.stop()
