"""The round: the page of a day, its visits in driving order, its drives."""

import uuid
from collections import defaultdict
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal
from functools import partial

from django.contrib import messages
from django.db.models import Prefetch
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_POST

from practice.actions.road import log_leg, remove_leg, set_reading, vehicle_chain
from practice.actions.visits import (
    cancel_visit,
    move_visit,
    only_vehicle,
    plan_visit,
    reopen_visit,
    reorder_visit,
)
from practice.forms.visits import LegForm, MoveForm, PlanForm, ReadingForm
from practice.lib.errors import RuleBroken
from practice.lib.profile import Profile
from practice.lib.things import do, form_page
from practice.lib.today import now, today
from practice.models import Leg, Reading, Vehicle, Visit, Work
from practice.reports.due import due_places
from practice.views.people import GET_OR_POST


def day_of(text: str) -> date:
    """Return the day of an address. Raises Http404 for anything but `YYYY-MM-DD`."""
    try:
        day = date.fromisoformat(text)
    except ValueError:
        raise Http404 from None
    if day.isoformat() != text:
        raise Http404
    return day


def round_url(on: date) -> str:
    return reverse("practice:round", args=[on.isoformat()])


@dataclass
class Part:
    """The round of one vehicle (None: visits without one)."""

    vehicle: Vehicle | None
    visits: list[Visit] = field(default_factory=list)
    legs: list[Leg] = field(default_factory=list)
    readings: dict[str, Decimal] = field(default_factory=dict)
    form: ReadingForm | None = None

    @property
    def driven(self) -> Decimal:
        return sum((leg.distance for leg in self.legs), Decimal(0))

    @property
    def by_odometer(self) -> Decimal | None:
        if "start" in self.readings and "end" in self.readings:
            return self.readings["end"] - self.readings["start"]
        return None

    @property
    def not_logged(self) -> Decimal | None:
        return None if self.by_odometer is None else self.by_odometer - self.driven


def parts_of(on: date, profile: Profile) -> list[Part]:
    """Return a day's parts: one for each vehicle in use, and one for visits without a vehicle."""
    work = Prefetch("work", Work.objects.select_related("horse", "service").order_by("pk"))
    visits = (
        Visit.objects.filter(date=on)
        .select_related("place", "vehicle")
        .prefetch_related(work)
        .in_driving_order()
    )
    parts: dict[int | None, Part] = {}
    for vehicle in Vehicle.objects.order_by("pk"):
        parts[vehicle.pk] = Part(vehicle)
    for visit in visits:
        visit.horses = list(dict.fromkeys(row.horse for row in visit.work.all()))
        visit.reach = None
        parts.setdefault(visit.vehicle_id, Part(None)).visits.append(visit)
    by_visit = defaultdict(Decimal)
    for leg in Leg.objects.filter(date=on).select_related("visit__place").order_by("start_odometer", "pk"):
        parts[leg.vehicle_id].legs.append(leg)
        if leg.visit_id:
            by_visit[leg.visit_id] += leg.distance
    for reading in Reading.objects.filter(date=on):
        parts[reading.vehicle_id].readings[reading.at] = reading.reading
    for part in parts.values():
        for visit in part.visits:
            visit.reach = by_visit.get(visit.pk)
        if part.vehicle:
            part.form = ReadingForm(profile=profile, initial=part.readings, prefix=f"v{part.vehicle.pk}")
    return [
        part
        for part in parts.values()
        if part.visits or part.legs or part.readings or (part.vehicle and not part.vehicle.archived)
    ]


@require_GET
def round_today(request: HttpRequest) -> HttpResponse:
    return redirect(round_url(today()))


@require_GET
def round_page(request: HttpRequest, day: str, part: Part | None = None) -> HttpResponse:
    """The page of a day. `part` has a form with errors that takes the place of its like."""
    on = day_of(day)
    profile = Profile.for_request(request)
    parts = parts_of(on, profile)
    if part:
        parts = [part if part.vehicle == other.vehicle else other for other in parts]
    visits = [visit for other in parts for visit in other.visits]
    stops = [visit for visit in visits if visit.status != Visit.Status.CANCELLED]
    here = next((visit for visit in stops if visit.status == Visit.Status.PLANNED), None)
    context = {
        "day": on,
        "parts": parts,
        "stops": stops,
        "done": sum(visit.status == Visit.Status.DONE for visit in stops),
        "next_stop": here,
        "before": on - timedelta(1),
        "after": on + timedelta(1),
        "is_today": on == today(),
        "due": [] if stops else due_places(on)[:3],
        "is_closed": profile.is_closed(on),
        "here": "round",
    }
    return render(request, "practice/round/round.html", context)


@GET_OR_POST
def visit_plan(request: HttpRequest, day: str) -> HttpResponse:
    """Plan a stop; places with horses due come first as buttons."""
    on = day_of(day)
    initial = {"place": request.GET.get("place"), "vehicle": only_vehicle(), "uuid": uuid.uuid4()}

    def save(form):
        data = form.cleaned_data
        return plan_visit(
            data["place"],
            on,
            vehicle=data["vehicle"],
            arrive=data["arrive"],
            note=data["note"],
            uuid=data["uuid"],
        )

    return form_page(
        request,
        partial(PlanForm, initial=initial),
        heading="Plan a stop",
        back=(round_url(on), "Round"),
        save=save,
        said="Planned.",
        template="practice/visits/plan.html",
        day=on,
        due=due_places(on)[:6],
    )


@GET_OR_POST
def visit_move(request: HttpRequest, pk: int) -> HttpResponse:
    visit = get_object_or_404(Visit.objects.select_related("place"), pk=pk)
    return form_page(
        request,
        partial(MoveForm, initial={"date": visit.date + timedelta(1), "vehicle": visit.vehicle_id}),
        heading=f"Move {visit.place}",
        back=(round_url(visit.date), "Round"),
        save=lambda form: move_visit(visit, form.cleaned_data["date"], form.cleaned_data["vehicle"]),
        then=lambda row: round_url(row.date),
        said="Moved.",
        keep="Move it",
    )


@require_POST
def visit_cancel(request: HttpRequest, pk: int) -> HttpResponse:
    visit = get_object_or_404(Visit, pk=pk)
    return do(request, cancel_visit, visit, said="Cancelled.", then=round_url(visit.date))


@require_POST
def visit_reopen(request: HttpRequest, pk: int) -> HttpResponse:
    visit = get_object_or_404(Visit, pk=pk)
    return do(request, reopen_visit, visit, said="Open again.", then=round_url(visit.date))


@require_POST
def visit_reorder(request: HttpRequest, pk: int) -> HttpResponse:
    visit = get_object_or_404(Visit, pk=pk)
    step = 1 if request.POST.get("step") == "later" else -1
    return do(request, reorder_visit, visit, step, said="Kept.", then=round_url(visit.date))


@require_POST
def keep_readings(request: HttpRequest, day: str, vehicle: int) -> HttpResponse:
    """Keep the odometer of a day's morning and evening; an error stands beside the field."""
    on, truck = day_of(day), get_object_or_404(Vehicle, pk=vehicle)
    profile = Profile.for_request(request)
    form = ReadingForm(request.POST, profile=profile, prefix=f"v{truck.pk}")
    if form.is_valid():
        for at in ("start", "end"):
            if form.has_changed() or form.cleaned_data[at] is not None:
                try:
                    set_reading(truck, on, at, form.cleaned_data[at])
                except RuleBroken as error:
                    form.add_error(at, str(error))
        if not form.errors:
            messages.success(request, "Kept.")
            return redirect(round_url(on))
    [part] = [part for part in parts_of(on, profile) if part.vehicle == truck]
    part.form = form
    request.method = "GET"
    return round_page(request, day, part)


@GET_OR_POST
def leg_add(request: HttpRequest, day: str, vehicle: int) -> HttpResponse:
    """Write down a drive by hand; the next stop without one is filled in."""
    on, truck = day_of(day), get_object_or_404(Vehicle, pk=vehicle)
    last = truck.legs.filter(date=on).order_by("pk").last()
    reached = truck.legs.filter(date=on, visit__isnull=False).values("visit")
    stops = Visit.objects.filter(date=on, vehicle=truck).exclude(status=Visit.Status.CANCELLED)
    stop = stops.exclude(pk__in=reached).select_related("place").in_driving_order().first()
    if "visit" in request.GET:
        stop = get_object_or_404(Visit.objects.select_related("place"), pk=request.GET["visit"])
    initial = {
        "origin": last.destination if last else "Home",
        "destination": stop.place.name if stop else "Home",
        "visit": stop.pk if stop else None,
        "purpose": Leg.Purpose.BUSINESS,
        "reason": "" if stop else "way home",
        "uuid": uuid.uuid4(),
    }

    def save(form):
        return log_leg(truck, on, **form.cleaned_data)

    return form_page(
        request,
        partial(LegForm, initial=initial, on=on),
        heading="A drive",
        lead="Type the distance, or both readings.",
        back=(round_url(on), "Round"),
        save=save,
    )


@require_POST
def leg_remove(request: HttpRequest, pk: int) -> HttpResponse:
    leg = get_object_or_404(Leg, pk=pk)
    return do(
        request,
        remove_leg,
        leg,
        written=now(),
        said="The drive is out of the book.",
        then=round_url(leg.date),
    )


@require_GET
def road(request: HttpRequest) -> HttpResponse:
    """The last days' drives, and what is not logged."""
    vehicles = list(Vehicle.objects.filter(archived=False).order_by("pk"))
    logs = []
    for vehicle in vehicles:
        gaps, _ = vehicle_chain(vehicle)
        days = defaultdict(list)
        for leg in vehicle.legs.select_related("visit__place").order_by("-date", "pk")[:60]:
            days[leg.date].append(leg)
        last = vehicle.readings.order_by("date", "at").last()
        logs.append({"vehicle": vehicle, "days": dict(days), "gaps": gaps[::-1][:6], "last": last})
    return render(request, "practice/road/road.html", {"logs": logs, "here": "road", "today": today()})
