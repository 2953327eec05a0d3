"""Sales tax of any days, by area and name."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from billing.forms.year import DaysForm
from billing.reports.sales_tax import sales_tax
from billing.reports.year_end import DEFERS
from practice.lib.periods import Period, quarters_of, tax_year_around
from practice.lib.profile import Profile
from practice.lib.today import today


@require_GET
def sales_tax_page(request: HttpRequest) -> HttpResponse:
    """What was taxed, exempt and taken in as tax: in the days asked, else in the quarter of today."""
    profile = Profile.for_request(request)
    year = tax_year_around(today(), profile.country)
    quarters = quarters_of(year)
    now = next(quarter for quarter in quarters if today() in quarter)
    asked = bool(request.GET.get("begin") or request.GET.get("end"))
    data = request.GET if asked else {"begin": now.begin.isoformat(), "end": now.end.isoformat()}
    form, found = DaysForm(data, profile=profile), None
    if form.is_valid():
        found = sales_tax(Period(form.cleaned_data["begin"], form.cleaned_data["end"]), profile)
    context = {
        "form": form,
        "found": found,
        "spans": [*quarters, year],
        "defers": DEFERS,
        "here": "money",
    }
    return render(request, "billing/year/sales_tax.html", context)
