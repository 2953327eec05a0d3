"""A real mail server on loopback (aiosmtpd) that refuses, drops and dawdles as a test asks."""

import contextlib
import email
import time
from collections import Counter
from dataclasses import dataclass
from email.message import EmailMessage
from email.policy import default

from aiosmtpd.controller import Controller
from aiosmtpd.smtp import SMTP, AuthResult

from tests.processes import free_port


class MailHandler:
    """Takes letters. `at_rcpt`, `at_data` give the answer for an address: a reply, `drop`, or None to accept.

    What is dropped `after_data` was received all the same.
    """

    def __init__(self, at_rcpt=None, at_data=None, after_data=None, dawdle=0):
        self.rules = {"rcpt": at_rcpt, "data": at_data, "after": after_data}
        self.dawdle, self.letters, self.logins = dawdle, [], []

    def _asked(self, when: str, address: str) -> str | None:
        rule = self.rules[when]
        return rule(address) if rule else None

    async def handle_RCPT(self, server, session, envelope, address, options):
        answer = self._asked("rcpt", address)
        if answer == "drop":
            server.transport.abort()
            return "421 gone"
        if answer is None:
            envelope.rcpt_tos.append(address)
        return answer or "250 OK"

    async def handle_DATA(self, server, session, envelope):
        time.sleep(self.dawdle)
        answer = self._asked("after", envelope.rcpt_tos[0])
        if answer is None or answer == "drop":
            self.letters.append(email.message_from_bytes(envelope.content, policy=default))
        if answer == "drop":
            server.transport.abort()
        return "250 Taken" if answer in (None, "drop") else answer

    def authenticate(self, server, session, envelope, mechanism, login):
        self.logins.append((login.login.decode(), login.password.decode()))
        return AuthResult(success=login.password == b"six nails", handled=False)


class PickySMTP(SMTP):
    """Refuses the DATA command itself where the handler says so, before any text was sent."""

    async def smtp_DATA(self, arg):
        answer = self.envelope.rcpt_tos and self.event_handler._asked("data", self.envelope.rcpt_tos[0])
        if answer == "drop":
            self.transport.abort()
        elif answer:
            await self.push(answer)
        else:
            await super().smtp_DATA(arg)


class PickyController(Controller):
    def factory(self):
        return PickySMTP(self.handler, **self.SMTP_kwargs)


@dataclass
class RunningMail:
    """A server that runs: its port, and what it took."""

    port: int
    handler: MailHandler

    @property
    def letters(self) -> list[EmailMessage]:
        return self.handler.letters

    def counted(self) -> Counter:
        """How often each Message-ID came."""
        return Counter(letter["Message-ID"] for letter in self.letters)


@contextlib.contextmanager
def mail_server(login: bool = False, **rules):
    """Serve on a free port of loopback; yield it as RunningMail."""
    handler, port = MailHandler(**rules), free_port()
    how = {"authenticator": handler.authenticate, "auth_required": True, "auth_require_tls": False}
    controller = PickyController(handler, "127.0.0.1", port, ready_timeout=60, **(how if login else {}))
    controller.start()
    try:
        yield RunningMail(port, handler)
    finally:
        controller.stop()
