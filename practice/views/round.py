"""The round: the page of a day, its visits in driving order, its drives."""

import uuid
from collections import defaultdict
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal
from functools import partial

from django.db.models import Prefetch
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
from practice.models import Leg, Reading, Vehicle, Visit, Work
from practice.reports.drives import ProposedDrive, RoadHistory, propose_drives
from practice.reports.due import due_places
from practice.reports.odometers import in_driving_order, vehicle_chain
from practice.rules.odometer import Gap


@dataclass
class VehicleDay:
    """The round of one vehicle (None: visits without one); `gaps` is what is not logged of its day."""

    vehicle: Vehicle | None
    visits: list[Visit] = field(default_factory=list)
    legs: list[Leg] = field(default_factory=list)
    readings: dict[str, Decimal] = field(default_factory=dict)
    proposals: list[ProposedDrive] = field(default_factory=list)
    gaps: list[Gap] = field(default_factory=list)
    form: ReadingForm | None = None

    @property
    def driven(self) -> Decimal:
        return sum((leg.distance for leg in self.legs), Decimal(0))

    @property
    def by_odometer(self) -> Decimal | None:
        """What the day's two readings say, where it is one odometer that they read."""
        if "start" in self.readings and self.readings["start"] <= self.readings.get("end", -1):
            return self.readings["end"] - self.readings["start"]
        return None

    @property
    def to_take(self) -> list[ProposedDrive]:
        """The proposed drives whose distance is known."""
        return [row for row in self.proposals if row.distance is not None]

    @property
    def way_home(self) -> ProposedDrive | None:
        return next((row for row in self.proposals if row.visit is None), None)


def parts_of(on: date, profile: Profile) -> list[VehicleDay]:
    """Return a day's parts: one for each vehicle in use, and one for visits without a vehicle."""
    work = Prefetch("work", Work.objects.select_related("horse", "service").order_by("pk"))
    visits = (
        Visit.objects.filter(date=on)
        .select_related("place", "vehicle")
        .prefetch_related(work)
        .in_driving_order()
    )
    parts: dict[int | None, VehicleDay] = {}
    for vehicle in Vehicle.objects.order_by("pk"):
        parts[vehicle.pk] = VehicleDay(vehicle)
    for visit in visits:
        visit.reach = visit.proposal = None
        visit.horses = list(dict.fromkeys(row.horse for row in visit.work.all()))
        parts.setdefault(visit.vehicle_id, VehicleDay(None)).visits.append(visit)
    by_visit = defaultdict(Decimal)
    for leg in Leg.objects.filter(date=on).select_related("visit__place").order_by("pk"):
        parts[leg.vehicle_id].legs.append(leg)
        if leg.visit_id:
            by_visit[leg.visit_id] += leg.distance
    for reading in Reading.objects.filter(date=on):
        parts[reading.vehicle_id].readings[reading.at] = reading.reading
    road = RoadHistory(profile)
    for part in parts.values():
        for visit in part.visits:
            visit.reach = by_visit.get(visit.pk)
        if part.vehicle:
            part.legs = in_driving_order(part.legs)
            part.proposals = propose_drives(part.visits, part.legs, road, set(by_visit))
            for row in part.proposals:
                if row.visit:
                    row.visit.proposal = row
            if part.legs or part.readings:
                part.gaps = vehicle_chain(part.vehicle, on, on)[0]
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
def round_page(request: HttpRequest, day: str, part: VehicleDay | None = None) -> HttpResponse:
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
        "is_ahead": on > today(),
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
        message="Planned.",
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
        message="Moved.",
        save_label="Move it",
    )


@require_POST
def visit_cancel(request: HttpRequest, pk: int) -> HttpResponse:
    visit = get_object_or_404(Visit, pk=pk)
    return do(request, cancel_visit, visit, message="Cancelled.", then=round_url(visit.date))


@require_POST
def visit_reopen(request: HttpRequest, pk: int) -> HttpResponse:
    visit = get_object_or_404(Visit, pk=pk)
    return do(request, reopen_visit, visit, message="Open again.", then=round_url(visit.date))


@require_POST
def visit_reorder(request: HttpRequest, pk: int) -> HttpResponse:
    visit = get_object_or_404(Visit, pk=pk)
    step = 1 if request.POST.get("step") == "later" else -1
    return do(request, reorder_visit, visit, step, message="Kept.", then=round_url(visit.date))
