"""What a phone asks of the server: who is logged in, and to take what it recorded."""

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.middleware.csrf import get_token
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET

from practice.lib.pages import GET_OR_POST
from practice.lib.presses import answers_anew
from practice.models import PhoneEntry
from practice.project.phone.placeholders import NotThere, with_keys_in
from practice.project.phone.sent import NotEntries, SentEntry, read_entries
from practice.project.phone.taking import take
from practice.project.sent_forms import tell_device

OTHER_LOGIN = {"state": "other login", "code": "other_login", "message": "", "then": ""}


@require_GET
@login_not_required
def state(request: HttpRequest) -> HttpResponse:
    """Say who is logged in, blank for nobody, and with which token to send."""
    user = request.user
    known = user.is_authenticated
    return JsonResponse(
        {
            "login": user.get_username() if known else "",
            "csrf": get_token(request),
            "now": int(timezone.now().timestamp() * 1000),
            "to_settle": PhoneEntry.objects.to_settle().count() if known else 0,
        }
    )


@GET_OR_POST
@answers_anew
def entries(request: HttpRequest) -> HttpResponse:
    """The page of what is on this phone. A post brings it here, and is answered entry by entry.

    `live` names the one whose form somebody looks at.
    """
    if request.method == "GET":
        return render(request, "phone/entries.html")
    try:
        sent = read_entries(request, timezone.now())
    except NotEntries:
        return JsonResponse({"code": "not_entries"}, status=400)
    live = request.POST.get("live", "")
    answers = [_answer(request, entry, entry.uuid.hex == live) for entry in sent]
    to_settle = PhoneEntry.objects.to_settle().count()
    response = JsonResponse({"entries": [answer for answer, _ in answers], "to_settle": to_settle})
    for answer, entry in answers:
        if answer["state"] == PhoneEntry.State.SAVED:
            tell_device(response, entry.uuid, True, request.is_secure())
    return response


@GET_OR_POST
@answers_anew
def made_on_phone(request: HttpRequest) -> HttpResponse:
    """Lead to a row that was made on a phone, once it is in the book, else to what of it is to settle.

    What was typed on the phone belongs to the address that its page had there (`js/drafts.js`).
    """
    try:
        address = with_keys_in(request.get_full_path())
    except NotThere as missing:
        if missing.waits_for is None:
            raise Http404 from None
        return redirect("phone-settle-entry", missing.waits_for.pk)
    # A form that is posted goes there, too.
    return redirect(f"{address}#{request.get_full_path()}", preserve_request=True)


def _answer(request: HttpRequest, entry: SentEntry, is_live: bool) -> tuple[dict, SentEntry]:
    if entry.login != request.user.get_username():
        return {"uuid": entry.uuid.hex, **OTHER_LOGIN}, entry
    kept, outcome = take(request, entry, is_live=is_live)
    if is_live and outcome.is_saved and outcome.message:
        messages.success(request, outcome.message)
    answer = {
        "uuid": entry.uuid.hex,
        "state": kept.state if kept else "refused",
        "code": outcome.code,
        "message": outcome.message,
        "then": outcome.then,
    }
    return answer, entry
