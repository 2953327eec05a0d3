"""The shoeing record of a horse at a visit, and what is prescribed for its feet."""

from functools import partial

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404

from practice.actions.shoeing import prescribe, save_feet
from practice.forms.shoeing import FeetForm, NewPrescriptionForm, PrescriptionForm
from practice.lib.pages import GET_OR_POST
from practice.lib.presses import row_uuid
from practice.lib.profile import Profile
from practice.lib.things import form_page
from practice.lib.today import today
from practice.models import Horse, Prescription
from practice.reports.shoeing import FeetToRecord, shoeing_at
from practice.views.fetched import get_horse_at, get_visit

DEFER = (
    "What a veterinarian prescribed stands until they change it. Ask them before you shoe any other way, and"
    " tell them what you see."
)
CARE = (
    "Nails go no deeper than the outer edge of the white line; wring off or turn over each point at once. Hot"
    " fitting needs fresh air, and someone who knows the horse to hold it."
)


@GET_OR_POST
def visit_feet(request: HttpRequest, pk: int, horse: int) -> HttpResponse:
    """How each foot was shod, filled in as the last time until it is recorded."""
    visit = get_visit(pk)
    animal = get_horse_at(visit, horse)

    def make_form(*data, profile: Profile) -> FeetForm:
        known = FeetToRecord(visit, animal, profile)
        about = {"filled": known.filled, "wears": known.wears, "measured": known.measured}
        return FeetForm(*data, profile=profile, row=animal, **about)

    return form_page(
        request,
        make_form,
        heading=f"Shoeing record of {animal}",
        back=(visit.horse_url(animal), str(animal)),
        save=lambda form: [save_feet(visit, animal, form.feet)],
        template="practice/shoeing/form.html",
        care=CARE,
        entry=f"Shoeing record of {animal}",
        entry_then=visit.horse_url(animal),
        shoeing=shoeing_at(visit, animal, Profile.for_request(request)),
    )


@GET_OR_POST
def prescription_add(request: HttpRequest, pk: int) -> HttpResponse:
    """Prescribe how feet of a horse are to be shod."""
    horse = get_object_or_404(Horse, pk=pk)

    def save(form: NewPrescriptionForm) -> list[Prescription]:
        return prescribe(horse, uuid=row_uuid(request), **form.cleaned_data)

    return form_page(
        request,
        partial(NewPrescriptionForm, initial={"valid_from": today()}),
        heading=f"A prescription for {horse}",
        back=(horse.get_absolute_url(), str(horse)),
        save=save,
        caution=DEFER,
    )


@GET_OR_POST
def prescription_change(request: HttpRequest, pk: int) -> HttpResponse:
    """Change a prescription, or end it."""
    row = get_object_or_404(Prescription.objects.select_related("horse"), pk=pk)
    return form_page(
        request,
        partial(PrescriptionForm, instance=row),
        heading=f"Prescription, {row.get_foot_display().lower()} of {row.horse}",
        back=(row.horse.get_absolute_url(), str(row.horse)),
        caution=DEFER,
    )
