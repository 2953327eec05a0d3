"""The round: the page of a day, and what is done to one of its stops there."""

import uuid
from datetime import date
from decimal import Decimal
from functools import partial

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_POST

from practice.actions.visits import (
    cancel_visit,
    move_visit,
    only_vehicle,
    plan_visit,
    reopen_visit,
    reorder_visit,
)
from practice.forms.road import ReadingForm
from practice.forms.visits import MoveForm, PlanForm
from practice.lib.pages import GET_OR_POST, day_of, round_url
from practice.lib.profile import Profile
from practice.lib.things import do, form_page
from practice.lib.today import today
from practice.models import Vehicle, Visit
from practice.reports.odometers import last_odometer
from practice.reports.round import day_round, due_rows
from practice.reports.vehicle_day import odometer_prefix

DUE_TO_PLAN = 6


@require_GET
def round_today(request: HttpRequest) -> HttpResponse:
    """Go to the round of the day that was picked, else of today."""
    return redirect(round_url(day_of(request.GET["day"]) if request.GET.get("day") else today()))


@require_GET
def round_page(request: HttpRequest, day: str) -> HttpResponse:
    return show_round(request, day_of(day))


def show_round(
    request: HttpRequest, on: date, vehicle: Vehicle | None = None, form: ReadingForm | None = None
) -> HttpResponse:
    """Show the page of a day; `form` is the one of a vehicle's odometer with its errors."""
    profile = Profile.for_request(request)
    day = day_round(on, today(), profile)
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
        initial=known_readings(vehicle, on),
        prefix=odometer_prefix(vehicle),
    )


def known_readings(vehicle: Vehicle, on: date) -> dict[str, Decimal | None]:
    """Return the odometer of a day by its `start` and `end`; no morning yet: the last evening is proposed."""
    readings = dict(vehicle.readings.filter(date=on).values_list("at", "reading"))
    if "start" in readings or on > today() or vehicle.legs.with_odometer().filter(date=on).exists():
        return readings
    last = last_odometer(vehicle, on)
    fits = last is not None and last <= readings.get("end", last)
    return {"start": last} | readings if fits else readings


@GET_OR_POST
def visit_plan(request: HttpRequest, day: str) -> HttpResponse:
    """Plan a stop; places with horses due come first, each a tap away."""
    on = day_of(day)
    initial = {"place": request.GET.get("place"), "vehicle": only_vehicle(), "uuid": uuid.uuid4()}
    return form_page(
        request,
        partial(PlanForm, initial=initial),
        heading="Plan a stop",
        back=(round_url(on), "Round"),
        save=lambda form: plan_visit(on=on, **form.cleaned_data),
        message=lambda visit: f"{visit.place} is planned.",
        template="practice/visits/plan.html",
        day=on,
        due=due_rows(on, DUE_TO_PLAN, Profile.for_request(request)),
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


def get_visit(pk: int) -> Visit:
    return get_object_or_404(Visit.objects.select_related("place"), pk=pk)
