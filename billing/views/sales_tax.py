"""Sales tax of any days, by area and name."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.text import capfirst
from django.views.decorators.http import require_GET

from billing.forms.year import DaysForm
from billing.reports.sales_tax import SalesTax, sales_tax
from billing.reports.year.words import Words
from billing.reports.year_end import DEFERS
from practice.lib.periods import Period, quarters_of, tax_year_around
from practice.lib.profile import Profile
from practice.lib.today import today


@require_GET
def sales_tax_page(request: HttpRequest) -> HttpResponse:
    """What was taxed, exempt and received as tax: in the days asked for, else in the quarter of today."""
    profile = Profile.for_request(request)
    year = tax_year_around(today(), profile.country)
    now = next(quarter for quarter in quarters_of(year) if today() in quarter)
    asked = bool(request.GET.get("begin") or request.GET.get("end"))
    data = request.GET if asked else {"begin": now.begin.isoformat(), "end": now.end.isoformat()}
    form, report = DaysForm(data, profile=profile), None
    if form.is_valid():
        report = sales_tax(Period(form.cleaned_data["begin"], form.cleaned_data["end"]), profile)
    context = {
        "form": form,
        "report": report,
        "heading": heading_of(report, profile),
        "spans": spans_of(year, Words(profile)),
        "defers": DEFERS,
        "here": "money",
    }
    return render(request, "billing/year/sales_tax.html", context)


def spans_of(year: Period, words: Words) -> list[tuple[str, Period]]:
    """Return the quarters of a year and the year itself, each with its words."""
    return [*((words.quarter(quarter), quarter) for quarter in quarters_of(year)), ("Whole year", year)]


def heading_of(report: SalesTax | None, profile: Profile) -> str:
    """Return what was invoiced and received as tax, in one sentence."""
    if report is None:
        return "Choose the dates."
    if not report.rows:
        return "Nothing was taxed."
    words, tax = Words(profile), capfirst(profile.home_country.sales_tax)
    charged, collected = words.money(report.charged), words.money(report.collected)
    return f"{tax}: {charged} invoiced, {collected} received."
