"""The times of a stop: as they are tapped there, and corrected."""

from datetime import time, timedelta
from functools import partial

from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_POST

from practice.actions.times import arrive_at_visit, note_horse_time, set_horse_times, set_visit_times
from practice.forms.times import VisitTimesForm
from practice.lib.addresses import id_of
from practice.lib.pages import GET_OR_POST
from practice.lib.things import do, form_page
from practice.lib.today import now
from practice.models import Horse, Visit
from practice.views.fetched import get_visit

# The field that js/times.js adds to the form of a horse: the seconds since it was opened.
SPENT = "spent"
LONGEST_SECONDS = 10**6


def time_at_visit(visit: Visit) -> time | None:
    """Return the minute that it is; None where that is on another day than the visit."""
    at = now()
    return at.time().replace(second=0) if at.date() == visit.date else None


def note_time(request: HttpRequest, visit: Visit, horse: Horse) -> None:
    """Write down how long the form of a horse that is saved was open, where the page says so."""
    spent = id_of(request.POST.get(SPENT, ""))
    if spent and spent < LONGEST_SECONDS:
        note_horse_time(visit, horse, now(), timedelta(seconds=spent))


@require_POST
def visit_arrive(request: HttpRequest, pk: int) -> HttpResponse:
    """*I am here*: write down when, and open the stop."""
    visit = get_visit(pk)
    then = visit.get_absolute_url()
    if (at := time_at_visit(visit)) is None:
        return redirect(then)
    return do(request, arrive_at_visit, visit, at, message="Arrival saved.", then=then)


@GET_OR_POST
def visit_times(request: HttpRequest, pk: int) -> HttpResponse:
    """Correct when we came to a stop, worked on its horses, and left it."""
    visit = get_visit(pk)

    @transaction.atomic
    def save(form: VisitTimesForm) -> Visit:
        set_horse_times(visit, form.horse_times())
        return set_visit_times(visit, form.cleaned_data["arrived"], form.cleaned_data["leave"])

    return form_page(
        request,
        partial(VisitTimesForm, row=visit),
        heading=f"When were you at {visit.place}?",
        back=(visit.get_absolute_url(), str(visit.place)),
        save=save,
    )
