"""One letter on its way by SMTP (RFC 5321), and how the server answered.

What went wrong before the text of a letter left this machine can be tried again. Where the connection ends
after that and before the server's answer, nobody can say whether the letter arrived: that is `Doubtful`.
"""

import re
import smtplib
import ssl
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from email.headerregistry import Address
from email.message import EmailMessage
from email.policy import SMTP as WITH_CRLF
from email.utils import format_datetime, make_msgid

from django.core.exceptions import ValidationError
from django.core.validators import validate_email

TLS, STARTTLS, PLAIN = "tls", "starttls", "none"
PATIENCE_SECONDS = 30
# Text in seven bits: not every server takes more.
ON_THE_WIRE = WITH_CRLF.clone(cte_type="7bit")
# The name that this machine gives: it has none that others know, so its address (RFC 5321, 4.1.3).
OWN_NAME = "[127.0.0.1]"
GO_AHEAD, ACCEPTED, FORWARDED = 354, 250, 251
# Answers about who is sending, not about the letter (RFC 4954, 6).
ABOUT_THE_LOGIN = {530, 534, 535, 538}


class MailError(Exception):
    """A letter did not go; `str(error)` says what the server or the network said, as a sentence."""


class Refused(MailError):
    """The server refuses this letter for good (5xx)."""


class NotNow(MailError):
    """It was not accepted this time (4xx, or the connection ended before the text was sent)."""


class ServerUnavailable(NotNow):
    """The server cannot be reached or refuses the login: no letter can go now."""


class Doubtful(MailError):
    """The connection ended after the text was sent: the letter may have arrived or not."""


@dataclass(frozen=True)
class MailServer:
    """How to reach the server that takes letters. Without a `username` there is no login."""

    host: str
    port: int
    security: str
    username: str = ""
    password: str = ""


@dataclass(frozen=True)
class Enclosure:
    """A PDF that goes with a letter."""

    name: str
    content: bytes


@dataclass(frozen=True)
class Letter:
    """What is sent. Names and subject are one line each: `one_line` sees to that."""

    message_id: str
    sender_name: str
    sender: str
    to_name: str
    to: str
    subject: str
    text: str
    date: datetime
    enclosures: tuple[Enclosure, ...] = ()

    def as_bytes(self) -> bytes:
        """Return the letter as it goes over the wire (RFC 5322): plain text, headers encoded, CRLF."""
        mail = EmailMessage(policy=ON_THE_WIRE)
        mail["From"] = address_of(self.sender_name, self.sender)
        mail["To"] = address_of(self.to_name, self.to)
        mail["Subject"] = one_line(self.subject)
        mail["Date"] = format_datetime(self.date)
        mail["Message-ID"] = self.message_id
        mail.set_content(self.text)
        for each in self.enclosures:
            mail.add_attachment(each.content, maintype="application", subtype="pdf", filename=each.name)
        return mail.as_bytes()


def one_line(text: str) -> str:
    """Return text for a header: line breaks and other control characters become blanks, so none is forged."""
    return " ".join("".join(char if char.isprintable() else " " for char in text).split())


def ascii_address(address: str) -> str:
    """Return an address whose domain is written in ASCII (IDNA). Raises ValueError where that cannot be."""
    local, _, domain = address.rpartition("@")
    return f"{local}@{domain.encode('idna').decode()}"


def is_address(address: str) -> bool:
    """Whether mail can be sent to an address."""
    try:
        validate_email(address)
        ascii_address(address)
    except (ValidationError, ValueError):
        return False
    return True


def address_of(name: str, address: str) -> Address:
    """Return an address for a header, with the name before it."""
    return Address(one_line(name), addr_spec=ascii_address(address))


def new_message_id(sender: str) -> str:
    """Return a Message-ID that no other message has, in the sender's domain (RFC 5322, 3.6.4)."""
    return make_msgid(domain=ascii_address(sender).rpartition("@")[2])


def said(reply: bytes | str) -> str:
    """Return what a server said in one line, cut short: it is shown to the user."""
    text = reply.decode("utf-8", "replace") if isinstance(reply, bytes) else str(reply)
    return one_line(text)[:300]


class MailConnection:
    """A connection to a mail server that takes letter after letter. Use it in a `with` block."""

    def __init__(self, server: MailServer, patience: int = PATIENCE_SECONDS):
        self.server, self.patience = server, patience
        self._smtp: smtplib.SMTP | None = None

    def __enter__(self) -> "MailConnection":
        return self

    def __exit__(self, *_) -> None:
        self.close()

    def close(self) -> None:
        """End the connection; what the server says to that changes nothing."""
        if self._smtp is not None:
            try:
                self._smtp.quit()
            except (OSError, smtplib.SMTPException):
                self._smtp.close()
            self._smtp = None

    def send(self, letter: Letter, before_text: Callable[[], None] = lambda: None) -> str:
        """Send a letter and return the server's answer.

        `before_text` is called when the server asked for the text and none of it has left yet; what it raises
        stops the letter. Raises Refused, NotNow, ServerUnavailable or Doubtful.
        """
        content = stuffed(letter.as_bytes())
        self._connect()
        try:
            self._announce(letter)
            before_text()
        except smtplib.SMTPServerDisconnected as error:
            self._drop()
            raise NotNow(f"The server ended the connection: {said(str(error))}.") from error
        except smtplib.SMTPResponseException as error:
            self.close()
            raise error_of(error.smtp_code, error.smtp_error) from error
        except OSError as error:
            self._drop()
            raise NotNow(f"The connection failed: {said(str(error))}.") from error
        except BaseException:
            self._drop()
            raise
        return self._hand_over(content)

    def _announce(self, letter: Letter) -> None:
        """Say from whom and to whom, and ask to send the text."""
        smtp = self._smtp
        for code, reply in (
            smtp.mail(ascii_address(letter.sender)),
            smtp.rcpt(ascii_address(letter.to)),
        ):
            if code not in (ACCEPTED, FORWARDED):
                raise smtplib.SMTPResponseException(code, reply)
        code, reply = smtp.docmd("DATA")
        if code != GO_AHEAD:
            raise smtplib.SMTPResponseException(code, reply)

    def _hand_over(self, content: bytes) -> str:
        try:
            self._smtp.send(content)
            code, reply = self._smtp.getreply()
        except (OSError, smtplib.SMTPException) as error:
            self._drop()
            raise Doubtful(f"The connection ended before the server answered: {said(str(error))}.") from error
        if code == ACCEPTED:
            return f"{code} {said(reply)}"
        self.close()
        if code < 400:
            raise Doubtful(f"The server's answer was not understood: {code} {said(reply)}.")
        raise error_of(code, reply)

    def _drop(self) -> None:
        self._smtp.close()
        self._smtp = None

    def _connect(self) -> None:
        """Connect and log in, unless that was done. Raises ServerUnavailable."""
        if self._smtp is not None:
            return
        try:
            self._smtp = self._open()
        except smtplib.SMTPNotSupportedError as error:
            raise ServerUnavailable(f"The mail server cannot do that: {said(str(error))}.") from error
        except smtplib.SMTPAuthenticationError as error:
            words = f"{error.smtp_code} {said(error.smtp_error)}"
            raise ServerUnavailable(f"The mail server refused the user name or password: {words}.") from error
        except smtplib.SMTPResponseException as error:
            raise ServerUnavailable(
                f"The mail server is not available: {error.smtp_code} {said(error.smtp_error)}."
            ) from error
        except ssl.SSLError as error:
            raise ServerUnavailable(
                f"No secure connection to {self.server.host}: {said(str(error))}."
            ) from error
        except (OSError, smtplib.SMTPException) as error:
            raise ServerUnavailable(f"{self.server.host} cannot be reached: {said(str(error))}.") from error

    def _open(self) -> smtplib.SMTP:
        server, how = self.server, {"local_hostname": OWN_NAME, "timeout": self.patience}
        if server.security == TLS:
            smtp = smtplib.SMTP_SSL(server.host, server.port, context=ssl.create_default_context(), **how)
        else:
            smtp = smtplib.SMTP(server.host, server.port, **how)
        try:
            smtp.ehlo_or_helo_if_needed()
            if server.security == STARTTLS:
                smtp.starttls(context=ssl.create_default_context())
            if server.username:
                smtp.login(server.username, server.password)
        except BaseException:
            smtp.close()
            raise
        return smtp


def error_of(code: int, reply: bytes) -> MailError:
    """Return what an answer of the server means: 4xx not now, 5xx never, a few that the login is missing."""
    words = f"The server answered {code} {said(reply)}"
    if code in ABOUT_THE_LOGIN:
        return ServerUnavailable(words)
    return Refused(words) if 500 <= code < 600 else NotNow(words)


def stuffed(content: bytes) -> bytes:
    """Return a text as DATA carries it (RFC 5321, 4.5.2): first dots doubled, a dot on the last line."""
    content = re.sub(rb"(?m)^\.", b"..", content)
    return content + (b"" if content.endswith(b"\r\n") else b"\r\n") + b".\r\n"
