"""What pays: the year seen by client, place, horse and service."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from billing.reports.what_pays import what_paid
from billing.reports.what_pays_page import VIEWS, WhatPaysPage
from billing.rules.paying import PLACE
from practice.lib.periods import tax_year, tax_year_of
from practice.lib.profile import Profile
from practice.lib.today import today

YEARS = 3


@require_GET
def what_pays_page(request: HttpRequest, year: int | None = None) -> HttpResponse:
    """What an hour and a mile brought in; `?by=` chooses between places, clients, horses and services."""
    profile = Profile.for_request(request)
    this = tax_year_of(today(), profile.country)
    year = this if year is None else year
    period = tax_year(year, profile.country)
    by = request.GET.get("by", PLACE)
    report = what_paid(period, profile)
    context = {
        "page": WhatPaysPage(report, by if by in VIEWS else PLACE, profile),
        "year": year,
        "years": [(this - back, tax_year(this - back, profile.country).years) for back in range(YEARS)],
        "views": VIEWS.items(),
        "here": "money",
    }
    return render(request, "billing/what_pays.html", context)
