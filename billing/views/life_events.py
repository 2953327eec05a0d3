"""Pages on which a horse is sold, moves, is away, retires or died, or a client leaves; and undoing that."""

from collections.abc import Callable
from functools import partial

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.views.decorators.http import require_POST

from billing.actions.horse_changes import HorseChange, Kind, Recording
from billing.actions.leaving import client_leaves
from billing.actions.life_events import record_change, record_elsewhere, undo_life_event
from billing.forms.life_events import (
    AwayForm,
    DeathForm,
    ElsewhereForm,
    HorseChangeForm,
    HorseMoveForm,
    LeavingForm,
    RetirementForm,
    SaleForm,
)
from practice.lib.pages import GET_OR_POST
from practice.lib.things import do, form_page
from practice.lib.today import now, today
from practice.models import Client, Horse, LifeEvent
from practice.reports.planned_stops import planned_stops

TEMPLATE = "billing/life/form.html"
UNDO = "You can undo this today, at the bottom of this page."
NO_RECORD = (
    "This is your own note. An insurer may want to be told at once, and may want a veterinarian's report: ask"
    " them what they need."
)


def recording_of(request: HttpRequest) -> Recording:
    """Return who records something now."""
    return Recording(request.user.get_username(), now(), today())


def change_page(form: type[HorseChangeForm], heading: str, lead: str, caution: str = "") -> Callable:
    """Return the view of what becomes of a horse; `{}` in the heading is its name."""

    @GET_OR_POST
    def view(request: HttpRequest, pk: int) -> HttpResponse:
        horse, recording = get_object_or_404(Horse, pk=pk), recording_of(request)
        return form_page(
            request,
            partial(form, horse=horse, recording=recording),
            heading=heading.format(horse),
            lead=lead,
            caution=caution,
            back=(horse.get_absolute_url(), str(horse)),
            save=lambda valid: record_change(horse, valid.change, recording),
            message=f"Saved. {UNDO}",
            template=TEMPLATE,
        )

    return view


sell = change_page(
    SaleForm,
    "{} was sold",
    "To another client, or to someone you do not work for. Earlier work stays on record.",
)
move = change_page(
    HorseMoveForm, "{} moved", "To another barn or yard. Owners and due date stay as they are."
)
away = change_page(
    AwayForm,
    "{} is away",
    "At a trainer, at a clinic, or out to pasture: not due until you make it active again.",
)
retire = change_page(RetirementForm, "{} retired", "No more calls. Owners and history stay as they are.")
died = change_page(DeathForm, "{} died", "The whole history stays in the book.", NO_RECORD)


@GET_OR_POST
def elsewhere(request: HttpRequest, pk: int) -> HttpResponse:
    """Record that someone else did a horse."""
    horse = get_object_or_404(Horse, pk=pk)

    def save(form: ElsewhereForm) -> LifeEvent:
        return record_elsewhere(
            horse, form.cleaned_data["date"], form.cleaned_data["note"], recording_of(request)
        )

    return form_page(
        request,
        ElsewhereForm,
        heading=f"When was {horse} done?",
        lead="By someone else, or before you came. The due date counts from then; it is not your work.",
        back=(horse.get_absolute_url(), str(horse)),
        save=save,
        message=f"Saved. {UNDO}",
    )


@require_POST
def answer(request: HttpRequest, pk: int) -> HttpResponse:
    """Say of a horse that nobody expects any more that it is away or retired."""
    horse = get_object_or_404(Horse, pk=pk)
    kind = Kind.RETIRED if request.POST.get("kind") == Kind.RETIRED else Kind.AWAY
    if planned_stops([horse], today()):
        name = "horse-retire" if kind == Kind.RETIRED else "horse-away"
        return redirect(f"billing:{name}", pk)
    change, what = HorseChange(kind, today()), kind.label.lower()
    return do(
        request,
        record_change,
        horse,
        change,
        recording_of(request),
        message=f"{horse} is {what}. You can undo this today, on its page.",
        then=reverse("home") if request.POST.get("back") == "home" else reverse("practice:horse-list"),
    )


@GET_OR_POST
def client_leave(request: HttpRequest, pk: int) -> HttpResponse:
    """Record that a client leaves, and what becomes of the horses."""
    client, recording = get_object_or_404(Client, pk=pk), recording_of(request)
    return form_page(
        request,
        partial(LeavingForm, client=client, recording=recording),
        heading=f"{client} is leaving",
        lead="Say what becomes of each horse. What is owed stays on the account, the history on record.",
        back=(client.get_absolute_url(), str(client)),
        save=lambda form: client_leaves(client, form.leaving, recording),
        message=f"Saved. {UNDO}",
        template=TEMPLATE,
    )


@require_POST
def undo(request: HttpRequest, pk: int) -> HttpResponse:
    """Take back what was recorded of a horse or client today."""
    event = get_object_or_404(LifeEvent.objects.for_list(), pk=pk)
    message, then = f"Undone. {event.subject} is as before.", event.subject.get_absolute_url()
    return do(request, undo_life_event, event, today(), message=message, then=then)
