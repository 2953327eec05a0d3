"""What a phone recorded and the book could not take: the list, and each entry with what can become of it."""

from dataclasses import replace
from functools import partial

from django.contrib import messages
from django.db import transaction
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET

from practice.lib import formats
from practice.lib.errors import RuleBroken
from practice.lib.pages import GET_OR_POST
from practice.lib.pictures import NotAPicture, TooManyPixels, clean_picture
from practice.lib.presses import FIELD
from practice.lib.profile import Profile
from practice.models import PhoneEntry
from practice.project.phone import page, settling
from practice.project.phone.replay import replay
from practice.project.phone.settling import UNDO_WITHIN, as_sent
from practice.project.phone.taking import kept_file
from practice.project.sent_forms import in_turn

LONGEST_SIDE = 1200
NOT_TYPED = (FIELD, "csrfmiddlewaretoken")


@require_GET
def settle_list(request: HttpRequest) -> HttpResponse:
    """The same list whoever looks, what was recorded first on top; below it what was discarded today."""
    locale, url = Profile.for_request(request).locale, partial(reverse, "phone-settle-entry")
    entries = PhoneEntry.objects.to_settle()
    discarded = PhoneEntry.objects.discarded_since(timezone.now() - UNDO_WITHIN)
    rows = [page.row_of(each, locale, url(args=[each.pk])) for each in entries]
    answer = f"{formats.counted(len(rows), 'entry', 'entries')} to settle" if rows else "Nothing to settle"
    context = {"rows": rows, "answer": f"{answer}.", "discarded": discarded}
    return render(request, "phone/settle.html", context)


@GET_OR_POST
def settle_entry(request: HttpRequest, pk: int) -> HttpResponse:
    """One entry, both sides of it, and the presses that settle it: `how` names the one."""
    if request.method == "POST":
        return _settle(request, pk, request.POST.get("how", ""))
    kept = get_object_or_404(PhoneEntry.objects.to_settle(), pk=pk)
    with in_turn():
        shown = page.settle_page(request, kept, Profile.for_request(request).locale)
    return render(request, "phone/settle_entry.html", {"page": shown})


def _settle(request: HttpRequest, pk: int, how: str) -> HttpResponse:
    done = {
        "save": (partial(settling.save_now, request, pk), "Saved."),
        "further": (partial(settling.bill_as_further_stop, request, pk), "Saved as a further stop."),
        "again": (partial(settling.plan_again_and_save, request, pk), "The stop is planned again. Saved."),
        "discard": (partial(settling.discard, pk, timezone.now()), "Discarded. You can undo this for a day."),
        "undo": (partial(settling.take_back_discard, pk, timezone.now()), "It is on the list again."),
    }
    if how not in done:
        raise Http404
    act, words = done[how]
    try:
        act()
    except RuleBroken as error:
        messages.error(request, str(error))
        return redirect("phone-settle")
    messages.success(request, words)
    return redirect("phone-settle")


@GET_OR_POST
def settle_form(request: HttpRequest, pk: int) -> HttpResponse:
    """The form of an entry, filled in as it was recorded, to be changed and saved; that settles the entry."""
    if request.method == "POST":  # it has its turn already
        return _form_of(request, pk)
    with in_turn():
        return _form_of(request, pk)


@transaction.atomic
def _form_of(request: HttpRequest, pk: int) -> HttpResponse:
    kept = settling.locked_entry(pk)
    try:
        settling.check_open(kept)
    except RuleBroken as error:
        messages.error(request, str(error))
        return redirect("phone-settle")
    sent, is_post = as_sent(kept), request.method == "POST"
    if is_post:
        typed = [(name, each) for name, listed in request.POST.lists() for each in listed]
        chosen = [(name, each) for name, listed in request.FILES.lists() for each in listed]
        left = [row for row in sent.files if row[0] not in request.FILES]
        fields = tuple(row for row in typed if row[0] not in NOT_TYPED)
        sent = replace(sent, fields=fields, files=(*chosen, *left))
    outcome = replay(request, sent, only_try=not is_post)
    if is_post and outcome.is_saved:
        settling.settle(kept, outcome, "changed")
        settling.take_along(request)
        messages.success(request, outcome.message or "Saved.")
        return redirect("phone-settle")
    if outcome.page is not None:
        return outcome.page
    if is_post:
        messages.error(request, outcome.message)
    return redirect("phone-settle-entry", pk)


@require_GET
def settle_picture(request: HttpRequest, pk: int, number: int) -> HttpResponse:
    """A picture that came with an entry, as a JPEG without anything but the picture."""
    kept = get_object_or_404(PhoneEntry.objects.to_settle(), pk=pk)
    try:
        _, here, _ = kept.files[number - 1]
        content = clean_picture(kept_file(here).read_bytes(), LONGEST_SIDE)
    except (IndexError, OSError, NotAPicture, TooManyPixels):
        raise Http404 from None
    return HttpResponse(content, content_type="image/jpeg")
