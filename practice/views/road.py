"""The road: readings, drives and gaps of a day; new odometers and vehicles."""

from datetime import date
from decimal import Decimal
from functools import partial

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.views.decorators.http import require_POST

from practice.actions.drives import ALL, fill_gap, find_gap, take_drives
from practice.actions.road import change_leg, log_leg, remove_leg, set_readings
from practice.actions.vehicles import change_odometer, replace_vehicle, undo_odometer_change
from practice.forms.road import GapForm, LegForm, OdometerForm, ReplaceForm
from practice.lib.addresses import id_of
from practice.lib.errors import RuleBroken
from practice.lib.formats import distance, full_date, tenths
from practice.lib.pages import GET_OR_POST, round_url
from practice.lib.presses import row_uuid
from practice.lib.profile import Profile
from practice.lib.things import do, form_page, save_form
from practice.lib.today import now, today
from practice.models import Leg, LegChange, OdometerChange, Vehicle, Visit
from practice.reports.drives import ProposedDrive, proposals_of
from practice.reports.road_log import entry_history
from practice.views.round import reading_form, show_round


@require_POST
def keep_readings(request: HttpRequest, day: date, vehicle: int) -> HttpResponse:
    """Save the odometer of a day's morning and evening; an error stands beside the field."""
    on, truck = day, get_object_or_404(Vehicle, pk=vehicle)

    def save(form):
        return set_readings(truck, on, form.cleaned_data, now())

    form, saved = save_form(request, partial(reading_form, truck, on), truck, save)
    if saved is None:
        return show_round(request, on, truck, form)
    messages.success(request, "Saved.")
    return redirect(round_url(on))


@require_POST
def take(request: HttpRequest, day: date, vehicle: int) -> HttpResponse:
    """Add one proposed drive to the log, or all of them."""
    on, truck = day, get_object_or_404(Vehicle, pk=vehicle)
    if on > today():
        messages.error(request, "That day is still ahead. Add its drives when they were driven.")
        return redirect(round_url(on))
    key = request.POST.get("drive", ALL)
    return do(request, take_drives, truck, on, key, written=now(), message="Saved.", then=round_url(on))


def initial_drive(truck: Vehicle, on: date, stop: Visit | None, proposal: ProposedDrive | None) -> dict:
    """Return the initial values of a drive's form: a proposal, else what follows from the last drive."""
    if proposal:
        return {
            "origin": proposal.origin,
            "destination": proposal.destination,
            "distance": proposal.distance,
            "purpose": proposal.purpose,
            "visit": proposal.visit.pk if proposal.visit else None,
            "reason": proposal.reason,
            "take": proposal.key,
        }
    last = truck.legs.filter(date=on).order_by("pk").last()
    return {
        "origin": last.destination if last else "Home",
        "destination": stop.place.name if stop else "",
        "visit": stop.pk if stop else None,
        "purpose": Leg.Purpose.BUSINESS,
    }


@GET_OR_POST
def leg_add(request: HttpRequest, day: date, vehicle: int) -> HttpResponse:
    """Log a drive by hand, or a proposed one with corrections; an uncorrected one is an estimate."""
    on, truck = day, get_object_or_404(Vehicle, pk=vehicle)
    proposals = {row.key: row for row in proposals_of(truck, on, Profile.for_request(request))}
    key = request.POST.get("take") or request.GET.get("take") or request.GET.get("visit")
    proposal, stop = proposals.get(key), None
    if "visit" in request.GET and not proposal:
        stops = Visit.objects.select_related("place")
        stop = get_object_or_404(stops, pk=id_of(request.GET["visit"]), date=on)
    initial = initial_drive(truck, on, stop, proposal)

    def save(form):
        data = form.cleaned_data
        read = data["start_odometer"] is not None and data["end_odometer"] is not None
        as_it_was = proposal is not None and data["distance"] == proposal.distance
        if read and "distance" not in form.changed_data:
            data["distance"] = None
        values = form.leg_values()
        return log_leg(truck, on, **values, estimated=as_it_was, uuid=row_uuid(request), written=now())

    return form_page(
        request,
        partial(LegForm, initial=initial, vehicle=truck, on=on),
        heading="New drive",
        lead="Enter the distance, or both readings.",
        back=(round_url(on), "Round"),
        save=save,
    )


@GET_OR_POST
def leg_change(request: HttpRequest, pk: int) -> HttpResponse:
    """Correct a drive; its page shows what it was before."""
    leg = get_object_or_404(Leg.objects.select_related("vehicle"), pk=pk)
    history = LegChange.objects.filter(leg=leg.uuid).select_related("visit__place")
    return form_page(
        request,
        partial(LegForm, row=leg, vehicle=leg.vehicle, on=leg.date),
        heading=leg.ends,
        lead="Estimated from the round and fitted to the day's readings. Enter a distance to replace it."
        if leg.estimated
        else "Enter the distance, or both readings.",
        back=(round_url(leg.date), "Round"),
        save=lambda form: change_leg(leg, form.leg_values(), written=now()),
        template="practice/road/leg.html",
        leg=leg,
        leg_history=entry_history(leg, Profile.for_request(request).locale),
        history=history.order_by("-at", "-pk"),
    )


@require_POST
def leg_remove(request: HttpRequest, pk: int) -> HttpResponse:
    leg = get_object_or_404(Leg, pk=pk)
    then = round_url(leg.date)
    return do(request, remove_leg, leg, written=now(), message="Drive deleted.", then=then)


def back_from_gap(request: HttpRequest, on: date) -> tuple[str, str]:
    """Return the way back: to the log where one came from there, else to the round."""
    if "log" in request.GET:
        return reverse("practice:road-month", args=[f"{on:%Y-%m}"]), "Road"
    return round_url(on), "Round"


@GET_OR_POST
def gap_fill(request: HttpRequest, day: date, vehicle: int, end: Decimal) -> HttpResponse:
    """Log what a jump of the odometer was; POST with `personal` makes all of it a personal drive."""
    on, truck = day, get_object_or_404(Vehicle, pk=vehicle)
    profile, back = Profile.for_request(request), back_from_gap(request, on)
    try:
        gap = find_gap(truck, on, end)
    except RuleBroken as error:
        messages.error(request, str(error))
        return redirect(back[0])
    if "personal" in request.POST:
        personal = {"purpose": Leg.Purpose.PERSONAL, "written": now()}
        return do(request, fill_gap, truck, on, end, **personal, message="Saved as personal.", then=back[0])
    missing = distance(gap.distance, profile.distance_unit, profile.locale)
    return form_page(
        request,
        partial(GapForm, initial={"distance": gap.distance}),
        heading=f"{missing} not logged",
        lead=f"{truck}, {full_date(on, profile.locale, profile.today)}: the odometer jumps from"
        f" {tenths(gap.begin, profile.locale)} to {tenths(gap.end, profile.locale)}. What was that drive?",
        back=back,
        save=lambda form: fill_gap(truck, on, end, **form.cleaned_data, written=now()),
    )


@GET_OR_POST
def vehicle_replace(request: HttpRequest, pk: int) -> HttpResponse:
    vehicle = get_object_or_404(Vehicle, pk=pk)

    def save(form):
        data = form.cleaned_data
        numbers = {name: data[name] for name in ("last", "name", "first")}
        return replace_vehicle(vehicle, data["date"], **numbers, written=now())

    return form_page(
        request,
        partial(ReplaceForm, initial={"date": today()}),
        heading=f"Replace {vehicle}",
        lead="The old vehicle is archived with its last reading. The new one takes over its stock and the"
        " stops planned for it.",
        back=(reverse("practice:vehicle-change", args=[pk]), str(vehicle)),
        save=save,
        then=lambda row: reverse("practice:vehicle-change", args=[row.pk]),
        save_label="Replace",
    )


@GET_OR_POST
def odometer_change(request: HttpRequest, pk: int) -> HttpResponse:
    vehicle = get_object_or_404(Vehicle, pk=pk)

    def save(form):
        data = form.cleaned_data
        return change_odometer(vehicle, data["date"], data["last"], data["first"])

    return form_page(
        request,
        partial(OdometerForm, initial={"date": today()}),
        heading=f"New odometer in {vehicle}",
        lead="Drives up to then are read from the old odometer, later ones from the new one.",
        back=(reverse("practice:vehicle-change", args=[pk]), str(vehicle)),
        save=save,
    )


@require_POST
def odometer_undo(request: HttpRequest, pk: int) -> HttpResponse:
    change = get_object_or_404(OdometerChange, pk=pk)
    target = reverse("practice:vehicle-change", args=[change.vehicle_id])
    return do(request, undo_odometer_change, change, message="Change of odometer undone.", then=target)
