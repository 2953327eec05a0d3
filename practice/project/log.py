"""The log in the data folder: one line a record, the traceback below it, and nothing secret."""

import json
import logging
import os
import re
import secrets
import sys
from collections.abc import Iterator
from contextlib import suppress
from logging.handlers import RotatingFileHandler
from urllib.parse import quote

from practice.lib.characters import READ_ALOUD

HIDDEN = "[hidden]"
SHORTEST_SECRET = 4
# Fields of forms whose values never reach the log, by a part of their name.
SECRET_FIELDS = re.compile("password|current|new|again|token|secret|key|pairing")
VALUE = r"""('[^']*'|"[^"]*"|[^\s'";,&]+)"""
# What lets somebody in, wherever it stands: the address of a shared link, a cookie, a password in an address.
SECRET_WORDS = (
    (re.compile(r"(/shared/)[^\s/'\"?#]+"), r"\1" + HIDDEN),
    (
        re.compile(
            r"(?i)((?:password|passwd|secret|token|session|csrf|pairing)[\w-]*(?:=|['\"]:\s*))" + VALUE
        ),
        r"\1" + HIDDEN,
    ),
    (re.compile(r"(://[^\s/:@]+:)[^\s/@]+@"), r"\1" + HIDDEN + "@"),
)


class LogFile(RotatingFileHandler):
    """A log that cannot be written says so once, in one line, not in a traceback each time.

    Several processes write to it. Where another one began a new file, this one goes on there.
    """

    has_failed = False

    def emit(self, record):
        self.follow()
        super().emit(record)

    def follow(self) -> None:
        """Let go of a file that is not the log any more."""
        if self.stream is None:
            return
        with suppress(OSError):
            if os.path.samestat(os.fstat(self.stream.fileno()), os.stat(self.baseFilename)):
                return
        self.stream.close()
        self.stream = None

    def handleError(self, record):
        if not self.has_failed:
            self.has_failed = True
            sys.stderr.write(f"The log {self.baseFilename} cannot be written: {sys.exc_info()[1]}\n")


class LogText(logging.Formatter):
    """Adds the number of the error that its page shows, and hides what is secret."""

    def format(self, record):
        return without_secrets(super().format(record), list(known_secrets(record)))

    def formatMessage(self, record):
        number = getattr(getattr(record, "request", None), "error_number", "")
        return super().formatMessage(record) + (f" (error {number})" if number else "")


def new_error_number() -> str:
    """Return a number for an error, short enough to be read out: `K7M2-9QXD`."""
    return "-".join("".join(secrets.choice(READ_ALOUD) for _ in range(4)) for _ in range(2))


def without_secrets(text: str, known: list[str]) -> str:
    """Return a text with the known secrets hidden, escaped or quoted ones too, and what looks like one."""
    forms = {form for each in known for form in (each, repr(each)[1:-1], quote(each))}
    for form in sorted(forms, key=len, reverse=True):
        text = text.replace(form, HIDDEN)
    for pattern, shown in SECRET_WORDS:
        text = pattern.sub(shown, text)
    return text


def known_secrets(record: logging.LogRecord) -> Iterator[str]:
    """Give what must not be in the log: keys and passwords of the book, cookies and fields of the request."""
    for value in (*_secrets_of_book(), *_secrets_of_request(getattr(record, "request", None))):
        if isinstance(value, str) and len(value) >= SHORTEST_SECRET:
            yield value


def _secrets_of_book() -> Iterator[str]:
    from django.conf import settings

    yield settings.SECRET_KEY
    yield settings.FIRST_PASSWORD
    yield settings.DATABASES["default"].get("PASSWORD", "")
    with suppress(OSError, ValueError, AttributeError):
        yield json.loads((settings.DATA_DIR / "mail_password").read_bytes()).get("password", "")


def _names_of_cookies() -> tuple[str, str]:
    from django.conf import settings

    return settings.SESSION_COOKIE_NAME, settings.CSRF_COOKIE_NAME


def _secrets_of_request(request) -> Iterator[str]:
    if request is None:
        return
    cookies = getattr(request, "COOKIES", {})
    yield from (cookies.get(name, "") for name in _names_of_cookies())
    # Only what was read already: to read a request here could fail once more.
    typed = getattr(request, "_post", None)
    for name, values in typed.lists() if typed else ():
        if SECRET_FIELDS.search(name):
            yield from values
