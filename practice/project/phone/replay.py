"""A form that was recorded on a phone, sent to its view as if it came from its page.

It goes through `answer_once` like any other, so one that had been sent plainly, and whose answer was lost, is
not saved again. What its view changed stands only where it was saved.
"""

import logging
from collections.abc import Iterable
from dataclasses import dataclass

from django.conf import settings
from django.contrib.messages import constants
from django.contrib.messages.storage.fallback import FallbackStorage
from django.core.exceptions import PermissionDenied
from django.core.files.uploadedfile import UploadedFile
from django.db import InterfaceError, OperationalError, transaction
from django.http import Http404, HttpRequest, HttpResponse, QueryDict
from django.urls import resolve
from django.utils.datastructures import MultiValueDict
from django_htmx.middleware import HtmxDetails

from practice.lib.forms import BookFields
from practice.lib.refusals import Refusals, listening
from practice.lib.today import as_of
from practice.project.log import new_error_number
from practice.project.phone.placeholders import NotThere, with_keys
from practice.project.phone.recordable import RECORDABLE
from practice.project.phone.sent import SentEntry
from practice.project.room import is_full
from practice.project.sent_forms import answer_once, was_saved

log = logging.getLogger("roundbook")
CHANGED, ASKS, WAITS = "changed", "asks", "waits_for"
NOT_FOUND = "What it belongs to is no longer in the book."
NOT_SAVED = "It could not be saved as it is. Open it and look."
NOT_RECORDABLE = "A phone cannot record this. Enter it on its own page."


@dataclass(frozen=True)
class ReplayOutcome:
    """What became of a form: saved, with where it leads, or why not. Its view shows `form` and `page`.

    `is_known`: the book has the rows that it names.
    """

    is_saved: bool
    code: str = ""
    message: str = ""
    then: str = ""
    form: BookFields | None = None
    page: HttpResponse | None = None
    is_known: bool = True

    @property
    def asks(self) -> bool:
        """Whether its form asks something that can be answered by yes."""
        return self.code in (CHANGED, ASKS) and bool(self.form.clashes or self.form.asked)


class _TakenBack(Exception):
    """Undoes what a form that is not saved, or only tried, has changed."""


def replay(request: HttpRequest, entry: SentEntry, *, only_try: bool = False) -> ReplayOutcome:
    """Send an entry to its view in the name of who is logged in; with `only_try` nothing stays.

    What fails for a reason of the machine (no database, no room) is raised: it can be sent again.
    """
    outcome = None
    try:
        with transaction.atomic():
            outcome = _answer(request, entry)
            if only_try or not outcome.is_saved:
                raise _TakenBack
    except _TakenBack:
        pass
    return outcome


def _answer(request: HttpRequest, entry: SentEntry) -> ReplayOutcome:
    try:
        entry = with_keys(entry)
    except NotThere as missing:
        return _missing(missing)
    inner = request_for(request, entry.path, entry.posted(), entry.files)
    with as_of(entry.at), listening() as refusals:
        try:
            match = inner.resolver_match = resolve(inner.path)
            if match.view_name not in RECORDABLE:
                return ReplayOutcome(False, "not_recordable", NOT_RECORDABLE)
            with transaction.atomic():
                page = answer_once(inner, lambda: match.func(inner, *match.args, **match.kwargs))
        except Http404:
            return ReplayOutcome(False, "not_found", NOT_FOUND)
        except PermissionDenied:
            return ReplayOutcome(False, "refused", NOT_SAVED)
        except Exception as error:
            if isinstance(error, OperationalError | InterfaceError) or is_full(error, settings.DATA_DIR):
                raise
            return _failed(inner, error)
    words = [str(message) for message in inner._messages._queued_messages]
    if was_saved(inner, page):
        return ReplayOutcome(True, message=" ".join(words), then=page.url)
    return _refused(inner, page, refusals)


def request_for(
    request: HttpRequest, path: str, data: QueryDict, files: Iterable[tuple[str, UploadedFile]]
) -> HttpRequest:
    """Return the request by which a form of this address is posted, by who made the other request."""
    inner = HttpRequest()
    inner.method = "POST"
    inner.path, _, query = path.partition("?")
    inner.path_info, inner.GET, inner.POST = inner.path, QueryDict(query), data
    inner.META = {name: value for name, value in request.META.items() if not name.startswith("HTTP_HX_")}
    inner.META |= {"PATH_INFO": inner.path, "QUERY_STRING": query, "REQUEST_METHOD": "POST"}
    inner.COOKIES, inner.user, inner.session = request.COOKIES, request.user, request.session
    inner.FILES = MultiValueDict()
    for name, file in files:
        file.seek(0)
        inner.FILES.appendlist(name, file)
    inner.htmx = HtmxDetails(inner)
    inner._messages = FallbackStorage(inner)
    return inner


def _missing(missing: NotThere) -> ReplayOutcome:
    if missing.waits_for is None:
        return ReplayOutcome(False, "not_found", NOT_FOUND, is_known=False)
    words = f"It waits for this to be settled first: {missing.waits_for}."
    return ReplayOutcome(False, WAITS, words, is_known=False)


def _failed(inner: HttpRequest, error: Exception) -> ReplayOutcome:
    """Note in the log what went wrong. It is not tried again by itself."""
    inner.error_number = new_error_number()
    log.error("a phone's entry failed: %s", inner.path, exc_info=error, extra={"request": inner})
    number = inner.error_number
    return ReplayOutcome(False, "failed", f"Something went wrong while this was saved (error {number}).")


def _refused(inner: HttpRequest, page: HttpResponse, refusals: Refusals) -> ReplayOutcome:
    """Say why a view did not save: a rule, what is typed, or a question of its form."""
    errors = [str(each) for each in inner._messages._queued_messages if each.level >= constants.ERROR]
    form = refusals.form
    if errors:
        return ReplayOutcome(False, refusals.code_of(errors[-1]) or "refused", " ".join(errors), form=form)
    shown = page if page.status_code == 200 else None
    if form is None:
        return ReplayOutcome(False, "refused", NOT_SAVED, page=shown)
    code, message = why_not(form, refusals)
    return ReplayOutcome(False, code, message, form=form, page=shown)


def why_not(form: BookFields, refusals: Refusals) -> tuple[str, str]:
    """Return the code and the words of what a form says: its errors before its questions."""
    if form.errors:
        said = [
            (error, f"{form.fields[name].label}: {error}" if name in form.fields else error)
            for name, listed in form.errors.items()
            for error in listed
        ]
        code = next((code for error, _ in said if (code := refusals.code_of(error))), "form_errors")
        return code, " ".join(words for _, words in said)
    if form.clashes:
        parts = ", ".join(str(clash.label) for clash in form.clashes)
        return CHANGED, f"Someone changed this in the meantime: {parts}."
    return ASKS, " ".join(odd.message for odd in form.asked) or NOT_SAVED
