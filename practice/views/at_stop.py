"""What comes up at a stop: a horse that is not in the book yet, and the next call that was agreed."""

from functools import partial

from django.http import HttpRequest, HttpResponse

from practice.actions.horses import agree_next_call
from practice.actions.newcomers import add_horse_at_stop
from practice.forms.at_stop import NewHorseForm, NextCallForm
from practice.lib.pages import GET_OR_POST
from practice.lib.presses import row_uuid
from practice.lib.things import form_page
from practice.reports.on_phone import horse_on_phone
from practice.views.fetched import get_visit


@GET_OR_POST
def horse_add(request: HttpRequest, pk: int) -> HttpResponse:
    """Add a horse that stands at a stop and is not in the book, and open its form there."""
    visit = get_visit(pk)
    return form_page(
        request,
        partial(NewHorseForm, visit=visit, initial={"name": request.GET.get("name", "")}),
        heading=f"A new horse at {visit.place}",
        back=(visit.get_absolute_url(), str(visit.place)),
        entry=f"A new horse at {visit.place}",
        entry_then=visit.horse_url(horse_on_phone(visit)),
        save=lambda form: add_horse_at_stop(visit, **form.cleaned_data, uuid=row_uuid(request)),
        then=visit.horse_url,
        message=lambda horse: f"{horse} is in the book.",
    )


@GET_OR_POST
def next_call(request: HttpRequest, pk: int) -> HttpResponse:
    """Write down the day that was agreed for the next call."""
    visit = get_visit(pk)
    return form_page(
        request,
        partial(NextCallForm, visit=visit),
        heading=f"The next visit to {visit.place}",
        lead="The day you agreed on with the owner. The horses are due then.",
        back=(visit.get_absolute_url(), str(visit.place)),
        entry=f"The next visit to {visit.place}",
        entry_then=visit.get_absolute_url(),
        save=lambda form: agree_next_call(form.cleaned_data["horses"], form.cleaned_data["day"]),
    )
