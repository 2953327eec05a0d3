"""What a horse brought in, beside what is recorded of it."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.views.decorators.http import require_GET

from billing.reports.horse_years import years_of_horse
from practice.lib.pages import render_page
from practice.lib.profile import Profile
from practice.models import Horse


@require_GET
def horse_earnings(request: HttpRequest, pk: int) -> HttpResponse:
    """What a horse brought and what its materials cost, in all and by year."""
    horse = get_object_or_404(Horse, pk=pk)
    context = {"horse": horse, "years": years_of_horse(horse, Profile.for_request(request)), "here": "horses"}
    return render_page(
        request, "billing/horses/earnings.html", context, partial="billing/horses/_earnings.html"
    )
