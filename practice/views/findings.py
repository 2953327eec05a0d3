"""Findings: a sign as seen, corrected, deleted, told of; and the signs to choose from."""

from functools import partial
from uuid import UUID

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.text import capfirst
from django.views.decorators.http import require_GET

from practice.actions.findings import change_finding, delete_finding, record_finding, tell_of_finding
from practice.actions.signs import save_sign
from practice.forms.findings import FindingForm, SignForm, ToldForm
from practice.lib.forms import BookForm
from practice.lib.list_rows import ListRow
from practice.lib.pages import GET_OR_POST
from practice.lib.presses import row_uuid
from practice.lib.profile import Profile
from practice.lib.things import form_page
from practice.lib.today import now
from practice.models import Finding, Horse, Visit
from practice.reports.foot_history import feet_history
from practice.reports.photos import photos_of_finding
from practice.reports.signs import all_signs
from practice.reports.vet import vet_of
from practice.views.fetched import get_horse_at, get_visit

FORM = "practice/findings/form.html"


def get_finding(pk: int) -> Finding:
    return get_object_or_404(Finding.objects.select_related("visit__place", "horse"), pk=pk)


def seen_in(form: FindingForm) -> dict:
    """Return what a form says was seen; somebody was told of it when it was sent, unless it says when."""
    seen = form.cleaned_data
    return seen | {"told_at": (seen["told_at"] or now()) if seen["told_who"] else None}


def around(request: HttpRequest, visit: Visit, horse: Horse) -> dict:
    """Return what each page about a horse's finding needs: the way back, and whom to call."""
    return {
        "back": (visit.horse_url(horse), str(horse)),
        "entry_then": visit.horse_url(horse),
        "vet": vet_of(horse, Profile.for_request(request)),
    }


@GET_OR_POST
def finding_add(request: HttpRequest, pk: int, horse: int) -> HttpResponse:
    """Record a sign, as seen."""
    visit = get_visit(pk)
    animal = get_horse_at(visit, horse)
    return form_page(
        request,
        FindingForm,
        heading=f"A finding on {animal}",
        save=lambda form: record_finding(visit, animal, row_uuid(request), **seen_in(form)),
        save_label="Save the finding",
        entry=f"A finding on {animal}",
        template=FORM,
        **around(request, visit, animal),
    )


@GET_OR_POST
def finding_change(request: HttpRequest, pk: int) -> HttpResponse:
    """Correct a finding."""
    finding = get_finding(pk)
    return form_page(
        request,
        partial(FindingForm, instance=finding),
        heading=f"A finding on {finding.horse}",
        save=lambda form: change_finding(finding, row_uuid(request), **seen_in(form)),
        template=FORM,
        delete_url=reverse("practice:finding-delete", args=[pk]),
        photos=photos_of_finding(finding, Profile.for_request(request)),
        **around(request, finding.visit, finding.horse),
    )


@GET_OR_POST
def finding_delete(request: HttpRequest, pk: int) -> HttpResponse:
    """Ask once, then delete a finding."""
    finding = get_finding(pk)
    return form_page(
        request,
        BookForm,
        heading="Delete this finding?",
        lead=f"{finding.words} {finding.horse} keeps everything else.",
        save=lambda form: delete_finding(finding),
        save_label="Delete",
        message="The finding is deleted.",
        back=(finding.visit.horse_url(finding.horse), str(finding.horse)),
    )


@GET_OR_POST
def finding_told(request: HttpRequest, pk: int) -> HttpResponse:
    """Keep who was told of a finding, and when."""
    finding = get_finding(pk)

    def save(form: ToldForm) -> Finding:
        told = form.cleaned_data
        return tell_of_finding(finding, told["told_who"], told["told_at"] or now())

    return form_page(
        request,
        partial(ToldForm, row=finding),
        heading=f"Who was told about {finding.horse}?",
        lead=finding.words,
        save=save,
        entry=f"Who was told about {finding.horse}",
        template="practice/findings/told.html",
        **around(request, finding.visit, finding.horse),
    )


@require_GET
def horse_findings(request: HttpRequest, pk: int) -> HttpResponse:
    """All that was seen on a horse's feet."""
    horse = get_object_or_404(Horse, pk=pk)
    history = feet_history(horse, Profile.for_request(request), most=None)
    return render(request, "practice/findings/list.html", {"history": history, "here": "horses"})


@require_GET
def sign_list(request: HttpRequest) -> HttpResponse:
    """The signs that a finding is chosen from."""
    rows = [
        ListRow(
            reverse("practice:sign-change", args=[sign.uuid]),
            capfirst(sign.name),
            more="Call the veterinarian." if sign.for_vet else "",
            note="no longer offered" if sign.archived else "",
        )
        for sign in all_signs()
    ]
    return render(request, "practice/findings/signs.html", {"rows": rows})


@GET_OR_POST
def sign_change(request: HttpRequest, sign: UUID | None = None) -> HttpResponse:
    """Add a sign, or change one."""
    row = next((row for row in all_signs() if row.uuid == sign), None)
    if sign and row is None:
        raise Http404
    return form_page(
        request,
        partial(SignForm, instance=row),
        heading=capfirst(row.name) if row else "New sign",
        save=lambda form: save_sign(form.save(commit=False), None if row else row_uuid(request)),
        back=(reverse("practice:sign-list"), "Signs"),
    )
