"""The round: the page of a day, and what is done to one of its stops there."""

from datetime import date
from functools import partial
from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_POST

from practice.actions.newcomers import plan_at_new_place
from practice.actions.visits import (
    cancel_visit,
    move_visit,
    only_vehicle,
    plan_for_horse,
    plan_visit,
    reopen_visit,
    reorder_visit,
)
from practice.forms.road import ReadingForm
from practice.forms.visits import HorsePlanForm, MoveForm, PlanForm
from practice.lib.addresses import day_of, id_of
from practice.lib.pages import GET_OR_POST, round_url
from practice.lib.presses import row_uuid
from practice.lib.profile import Profile
from practice.lib.things import do, form_page
from practice.lib.today import now, today
from practice.models import Horse, Vehicle, Visit
from practice.reports.asked import day_planned_at
from practice.reports.odometers import known_readings
from practice.reports.round import day_round, due_rows, offered_days, plan_url
from practice.reports.vehicle_day import odometer_prefix
from practice.views.fetched import get_visit

DUE_TO_PLAN = 6
# What stays as it was typed when a day is picked that is offered.
TYPED_OF_A_PLAN = ("place", "new_place", "vehicle", "arrive", "note")


@require_GET
def round_today(request: HttpRequest) -> HttpResponse:
    """Go to the round of the day that was picked, else of today."""
    return redirect(round_url(day_of(request.GET["day"]) if request.GET.get("day") else today()))


@require_GET
def round_page(request: HttpRequest, day: date) -> HttpResponse:
    return show_round(request, day)


def show_round(
    request: HttpRequest, on: date, vehicle: Vehicle | None = None, form: ReadingForm | None = None
) -> HttpResponse:
    """Show the page of a day; `form` is the one of a vehicle's odometer with its errors."""
    profile = Profile.for_request(request)
    day = day_round(on, today(), profile, now())
    forms = {
        part.vehicle: reading_form(part.vehicle, on, profile=profile) for part in day.vehicles if part.vehicle
    }
    if form:
        forms[vehicle] = form
    context = {
        "round": day,
        "parts": [(part, forms.get(part.vehicle)) for part in day.vehicles],
        "here": "round",
    }
    return render(request, "practice/round/round.html", context)


def reading_form(vehicle: Vehicle, on: date, *data, profile: Profile) -> ReadingForm:
    """Return the form of a vehicle's odometer on a day, filled in with what the book has of it now."""
    return ReadingForm(
        *data,
        profile=profile,
        row=vehicle,
        vehicle=vehicle,
        on=on,
        initial=known_readings(vehicle, on, today()),
        prefix=odometer_prefix(vehicle),
    )


@GET_OR_POST
def visit_plan(request: HttpRequest, day: date) -> HttpResponse:
    """Plan a stop; places with horses due come first, each a tap away."""
    if "offer" in request.POST:
        typed = {name: request.POST.get(name, "") for name in TYPED_OF_A_PLAN}
        return redirect(f"{plan_url(day_of(request.POST['offer']))}?{urlencode(typed)}")

    def save(form: PlanForm) -> Visit:
        data = form.cleaned_data | {"uuid": row_uuid(request)}
        on, place, new_place = (data.pop(name) for name in ("date", "place", "new_place"))
        return plan_visit(place, on, **data) if place else plan_at_new_place(new_place, on, **data)

    typed = {name: request.GET[name] for name in TYPED_OF_A_PLAN if name in request.GET}
    initial = {"date": day, "vehicle": only_vehicle()} | typed
    return form_page(
        request,
        partial(PlanForm, initial=initial),
        heading="Plan a stop",
        back=(round_url(day), "Round"),
        save=save,
        then=lambda visit: round_url(visit.date),
        message=lambda visit: f"{visit.place} is planned.",
        entry="A stop on the round",
        entry_then=round_url(day),
        template="practice/visits/plan.html",
        day=day,
        offers=offered_days(id_of(typed.get("place", "")), day, Profile.for_request(request)),
        due=due_rows(day, DUE_TO_PLAN, Profile.for_request(request)),
    )


@GET_OR_POST
def horse_plan(request: HttpRequest, pk: int) -> HttpResponse:
    """Plan a visit for a horse, at its place: on a stop that is planned there, or on one of its own."""
    horse = get_object_or_404(Horse.objects.select_related("place"), pk=pk)
    initial = {"vehicle": only_vehicle(), "date": day_planned_at(horse.place, today())}

    def save(form: HorsePlanForm) -> Visit:
        data = form.cleaned_data
        return plan_for_horse(horse, data["date"], data["vehicle"], row_uuid(request))

    return form_page(
        request,
        partial(HorsePlanForm, initial=initial),
        heading=f"Plan a visit for {horse}",
        lead=f"At {horse.place}." if horse.place else "",
        back=(horse.get_absolute_url(), str(horse)),
        save=save,
        then=lambda visit: round_url(visit.date),
        message=lambda visit: f"{visit.place} is planned for {horse}.",
    )


@GET_OR_POST
def visit_move(request: HttpRequest, pk: int) -> HttpResponse:
    visit = get_visit(pk)
    return form_page(
        request,
        partial(MoveForm, row=visit),
        heading=f"Move {visit.place}",
        back=(round_url(visit.date), "Round"),
        save=lambda form: move_visit(visit, form.cleaned_data["date"], form.cleaned_data["vehicle"]),
        then=lambda moved: round_url(moved.date),
        message=f"{visit.place} is moved.",
        save_label="Move",
    )


@require_POST
def visit_cancel(request: HttpRequest, pk: int) -> HttpResponse:
    visit = get_visit(pk)
    message = f"{visit.place} is canceled."
    return do(request, cancel_visit, visit, message=message, then=round_url(visit.date))


@require_POST
def visit_reopen(request: HttpRequest, pk: int) -> HttpResponse:
    visit = get_visit(pk)
    message = f"{visit.place} is planned again."
    return do(request, reopen_visit, visit, message=message, then=round_url(visit.date))


@require_POST
def visit_reorder(request: HttpRequest, pk: int) -> HttpResponse:
    visit = get_visit(pk)
    step = 1 if request.POST.get("step") == "later" else -1
    return do(request, reorder_visit, visit, step, message="Saved.", then=round_url(visit.date))
