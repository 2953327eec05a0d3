"""The page for what went wrong on the server: what became of the last step, and a number for the log.

A full disk gets its own words, with what to do.
"""

import sys
from contextlib import suppress
from dataclasses import dataclass

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from practice.project.log import new_error_number
from practice.project.room import is_full
from practice.project.sent_forms import is_in_the_book

# What became of the last step: nothing was sent, it is in the book, it is not, nobody knows.
ONLY_LOOKED = "This page cannot be shown. Nothing in your book was changed."
SAVED = "What you sent was saved. Only the page after it cannot be shown."
NOT_SAVED = (
    "Your last step was not saved. Nothing in your book was changed. Go back: what you typed is"
    " still on this device, except for files and passwords."
)
UNKNOWN = "It is not known whether your last step was saved. Check before you do it again."
MAKE_ROOM = (
    "On the computer that runs Roundbook, empty the trash or move large files to another disk. Then go back"
    " and save again."
)
NUMBER_HEADER = "Roundbook-Error"


@dataclass(frozen=True)
class Failure:
    """What the page says. `log` is where the log is, blank for who is not logged in."""

    number: str
    heading: str
    became: str
    remedy: str
    log: str


def server_error(request: HttpRequest) -> HttpResponse:
    """Answer 507 where the disk is full, else 500. Django calls it while it handles the exception.

    The log gets the number through `error_number`. A tap of htmx gets it in a header: js/taps.js shows it.
    """
    error = sys.exc_info()[1]
    full = bool(error) and is_full(error, settings.DATA_DIR)
    request.error_number = new_error_number()
    failure = Failure(
        number=request.error_number,
        heading="The disk is full." if full else "Something went wrong on this page.",
        became=what_became_of(request),
        remedy=MAKE_ROOM if full else "",
        log=str(settings.LOG_FILE) if is_logged_in(request) else "",
    )
    answer = render(None, "500.html", {"failure": failure}, status=507 if full else 500)
    answer[NUMBER_HEADER] = failure.number
    return answer


def what_became_of(request: HttpRequest) -> str:
    """Return in words whether the last step was saved: the book itself is asked."""
    if request.method in ("GET", "HEAD", "OPTIONS"):
        return ONLY_LOOKED
    return {True: SAVED, False: NOT_SAVED, None: UNKNOWN}[is_in_the_book(request)]


def is_logged_in(request: HttpRequest) -> bool:
    """Whether whoever asked is known to be logged in; not where the database cannot say."""
    with suppress(Exception):
        return request.user.is_authenticated
    return False
