"""What became of a form that was sent: it is saved once, and the device hears whether it was.

Each form on a page carries a UUID (`{% press %}`). What it saves is written in one transaction with a `Press`
of that UUID, so that the same form sent again saves nothing: it is answered with the first one's page, also
where both arrive at once or the server died between them. A form that was changed since is another one.

`practice/static/js/drafts.js` keeps what is typed on the device. The answer sets a cookie `form_UUID`,
`saved` or `not`, and the device then drops its draft or keeps it.
"""

import hashlib
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import timedelta
from threading import Lock
from uuid import UUID

from django.contrib import messages
from django.contrib.messages import constants
from django.db import connection, transaction
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import redirect
from django.utils import timezone

from practice.lib.presses import FIELD, posted_press
from practice.models import Press

COOKIE = "form_{}"
NOT_TYPED = (FIELD, "csrfmiddlewaretoken", "spent")
SAVED_BEFORE = "This was saved before, so it was not saved again."
COOKIE_AGE = 60 * 60 * 24 * 7
# Longer than a draft stays on a device.
KEPT_FOR = timedelta(days=90)
TURN = Lock()


class SentForms:
    """The middleware that saves no form twice, and tells the device what became of it.

    It stands last, so that logins and CSRF tokens are checked before `process_view`.
    """

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        press = posted_press(request)
        is_saved = press and was_saved(request, response)
        if press and (is_saved or not request.htmx):  # a tap of htmx saves nothing
            tell_device(response, press, is_saved, request.is_secure())
        return response

    def process_view(self, request: HttpRequest, view, args, kwargs) -> HttpResponse | None:
        """Answer a form once. A tap of htmx is no press: nothing is saved before the form itself is sent."""
        if posted_press(request) is None or request.htmx or hasattr(view, "answers_anew"):
            return None
        with in_turn():
            return answer_once(request, lambda: view(request, *args, **kwargs))


def tell_device(response: HttpResponse, press: UUID, is_saved: bool, is_secure: bool) -> None:
    """Tell the device whether the form with this UUID was saved."""
    said = "saved" if is_saved else "not"
    response.set_cookie(COOKIE.format(press.hex), said, max_age=COOKIE_AGE, samesite="Lax", secure=is_secure)


@contextmanager
def in_turn() -> Iterator[None]:
    """Let the threads of this server save one after the other, each in its turn.

    SQLite takes one writer at a time, and one that waits asks again and again: under load others slip in
    before it, until its time is up. Here it sleeps until it is its turn.
    """
    if connection.vendor != "sqlite":
        yield
        return
    with TURN:
        yield


@transaction.atomic
def answer_once(request: HttpRequest, answer: Callable[[], HttpResponse]) -> HttpResponse:
    """Return the answer to a form, or go where it led to when it was saved before.

    A form that arrives while the same one is being saved waits here: its `Press` cannot be written twice.
    """
    uuid, content = posted_press(request), digest_of(request)
    presses = Press.objects.select_for_update()
    press, is_new = presses.get_or_create(uuid=uuid, defaults={"at": timezone.now()})
    if content in press.answers:
        messages.info(request, SAVED_BEFORE)
        return redirect(press.answers[content])
    request.row_uuid = uuid if is_new else None
    response = answer()
    if was_saved(request, response):
        press.answers[content] = response.url
        press.save(update_fields=["answers"])
    elif is_new:
        press.delete()
    return response


def is_in_the_book(request: HttpRequest) -> bool | None:
    """Whether what a request sent was saved, after it ended in an error; None: nobody knows.

    A form is saved with its `Press` or not at all, and a tap of htmx saves nothing.
    """
    try:
        press = posted_press(request)
        if press is None or hasattr(getattr(request.resolver_match, "func", None), "answers_anew"):
            return None
        if request.htmx:
            return False
        saved = Press.objects.filter(uuid=press).first()
        return saved is not None and digest_of(request) in saved.answers
    except Exception:  # what failed before fails again: the post cannot be read, or the database is gone
        return None


def forget_old_presses() -> None:
    """Delete what was sent so long ago that no device sends it again."""
    old = Press.objects.filter(at__lt=timezone.now() - KEPT_FOR)
    if old.exists():
        old.delete()


def was_saved(request: HttpRequest, response: HttpResponse) -> bool:
    """Whether a form was saved: every change ends in a redirect, a refusal in a page or an error message."""
    if not isinstance(response, HttpResponseRedirect) or not request.user.is_authenticated:
        return False
    # The messages of this request; to loop over the storage itself would count them as shown.
    return all(message.level < constants.ERROR for message in request._messages._queued_messages)


def digest_of(request: HttpRequest) -> str:
    """Return one digest of who sent a form, where to, and all that was typed into it."""
    typed = [(name, request.POST.getlist(name)) for name in sorted(request.POST) if name not in NOT_TYPED]
    files = [
        (name, file.name, file.size) for name in sorted(request.FILES) for file in request.FILES.getlist(name)
    ]
    sent = (request.user.pk, request.get_full_path(), typed, files)
    return hashlib.sha256(repr(sent).encode()).hexdigest()
