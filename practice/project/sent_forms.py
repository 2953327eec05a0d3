"""What a device asks of the book when it sends a form: was it saved, and is it saved once only?

`practice/static/js/drafts.js` keeps what is typed on the device and sends each form with a token. The answer
sets a cookie `form_TOKEN`, `saved` or `not`, and the device then drops its draft or keeps it. A form that is
sent again unchanged, because its answer got lost or a button was tapped twice, is not saved again.
"""

import hashlib
import re
from threading import Lock

from django.conf import settings
from django.contrib import messages
from django.contrib.messages import constants
from django.core.cache import caches
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import redirect

TOKEN, COOKIE = "form_token", "form_{}"
NOT_TYPED = (TOKEN, "csrfmiddlewaretoken")
SAVED_BEFORE = "This was saved before, so it was not saved again."
COOKIE_AGE = 60 * 60 * 24 * 7
# The server is one process; what is sent twice at once waits here for the first.
LOCKS = [Lock() for _ in range(64)]


class SentForms:
    """The middleware that tells the device what became of a form, and saves none twice.

    It stands last, so that logins and CSRF tokens are checked before `process_view`.
    """

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        token = token_of(request)
        is_saved = token and was_saved(request, response)
        if token and (is_saved or not request.htmx):  # a tap of htmx saves nothing
            said = "saved" if is_saved else "not"
            response.set_cookie(
                COOKIE.format(token), said, max_age=COOKIE_AGE, samesite="Lax", secure=settings.HTTPS
            )
        return response

    def process_view(self, request: HttpRequest, view, args, kwargs) -> HttpResponse | None:
        token = token_of(request)
        if not token:
            return None
        key, content = f"{request.user.pk}:{token}", digest_of(request)
        with LOCKS[int(token, 16) % len(LOCKS)]:
            saved, target = caches["sent_forms"].get(key, ("", ""))
            if saved == content:
                messages.info(request, SAVED_BEFORE)
                return redirect(target)
            response = view(request, *args, **kwargs)
            if was_saved(request, response):
                caches["sent_forms"].set(key, (content, response.url))
        return response


def token_of(request: HttpRequest) -> str:
    """Return the token of the form that was sent, blank where it came without one."""
    token = request.POST.get(TOKEN, "") if request.method == "POST" else ""
    return token if re.fullmatch("[0-9a-f]{32}", token) else ""


def was_saved(request: HttpRequest, response: HttpResponse) -> bool:
    """Whether a form was saved: every change ends in a redirect, a refusal in a page or an error message."""
    if not isinstance(response, HttpResponseRedirect) or not request.user.is_authenticated:
        return False
    # The messages of this request; to loop over the storage itself would count them as shown.
    return all(message.level < constants.ERROR for message in request._messages._queued_messages)


def digest_of(request: HttpRequest) -> str:
    """Return one digest of where a form was sent and of all that was typed into it."""
    typed = [(name, request.POST.getlist(name)) for name in sorted(request.POST) if name not in NOT_TYPED]
    files = [(name, file.name, file.size) for name, file in sorted(request.FILES.items())]
    return hashlib.sha256(repr((request.get_full_path(), typed, files)).encode()).hexdigest()
