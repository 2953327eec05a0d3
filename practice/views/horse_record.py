"""A horse's record on paper, for its owner or its veterinarian."""

from functools import partial

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_GET

from practice.forms.photos import HorseRecordForm
from practice.lib.pdf_answers import pdf_response
from practice.lib.profile import Profile
from practice.lib.today import today
from practice.models import Horse
from practice.papers.horse_record import horse_record_pdf


@require_GET
def horse_record(request: HttpRequest, pk: int) -> HttpResponse:
    """Choose what goes on the record; where that was chosen, the record itself."""
    horse, profile = (
        get_object_or_404(Horse.objects.select_related("place"), pk=pk),
        Profile.for_request(request),
    )
    form = HorseRecordForm(request.GET if "make" in request.GET else None, profile=profile, horse=horse)
    if not form.is_valid():
        return render(
            request, "practice/horses/record.html", {"form": form, "horse": horse, "here": "horses"}
        )
    chosen = form.cleaned_data
    photos, with_owners = chosen.get("photos", []), chosen["with_owners"]
    make = partial(horse_record_pdf, horse, today(), profile, photos, with_owners)
    return pdf_response(request, make, f"record-{horse.pk}-{today().isoformat()}")
