"""The year: its totals, what is left to mend, closing it, and tax paid in ahead."""

from collections.abc import Sequence
from datetime import MAXYEAR, date
from decimal import Decimal
from functools import partial

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_POST

from billing.actions.closing_years import close_year, may_take_back, take_back_closing
from billing.actions.estimated import keep_estimated, remove_estimated
from billing.forms.year import EstimatedPaymentForm
from billing.models import EstimatedPayment
from billing.reports.year import warnings as mend
from billing.reports.year.by_time import PeriodTotals, months_in, quarters_in, set_aside
from billing.reports.year.expenses import CategoryTotal
from billing.reports.year_end import DEFERS, year_end
from practice.lib.charts import Bar, columns
from practice.lib.pages import GET_OR_POST
from practice.lib.periods import MONTHS_A_QUARTER, tax_year, tax_year_of
from practice.lib.profile import Profile
from practice.lib.things import do, form_page
from practice.lib.today import today

FIRST_YEAR = 1900
LEFT_OUT = "The actual costs leave out depreciation, loan interest and property tax."
TENTH = Decimal("0.1")
# Where what is left to mend is mended, and the words of the link.
MENDED_AT = {
    mend.JUMPS: ("practice:round", "Look at the day"),
    mend.OPEN_DAY: ("billing:close-day", "Look at the day"),
    mend.OPEN_MONTH: ("billing:close-day", "Close the month"),
    mend.NO_WORK: ("practice:visit-detail", "Look at the visit"),
    mend.BELOW_ZERO: ("stock:item-count", "Count it"),
    mend.CREDIT: ("practice:client-detail", "Look at the account"),
    mend.CARRIED: ("billing:mileage-rate-list", "Add the rate"),
    mend.NO_RATE: ("billing:mileage-rate-list", "Add the rate"),
    mend.REFUSED: ("practice:road", "Look at the drives"),
}


@require_GET
def year_now(request: HttpRequest) -> HttpResponse:
    """Go to the tax year of today."""
    return redirect("billing:year", tax_year_of(today(), Profile.for_request(request).country))


@require_GET
def year_page(request: HttpRequest, year: int) -> HttpResponse:
    """The totals of the tax year that begins in `year`."""
    profile, now = Profile.for_request(request), today()
    if not FIRST_YEAR <= year < MAXYEAR:
        raise Http404
    found = year_end(year, profile, now)
    months = months_in(found)
    chart = columns([month.received for month in months], [""] * len(months))
    aside = set_aside(found, profile.set_aside_percent)
    context = {
        "year": found,
        "label": found.period.years,
        "mend": [(warning, *mended_at(warning)) for warning in found.warnings],
        "months": months,
        "quarters": quarters_in(found),
        "chart": chart,
        "bars": list(zip(chart.columns, months, strict=True)),
        "best": best_month(months, chart.columns),
        "spent": with_bars(found.expenses.rows),
        "share": found.miles.actual.business_share * 100,
        "left_out": LEFT_OUT,
        "aside": aside,
        "left": sum(row.left for row in aside),
        "put_aside": sum(row.aside for row in aside),
        "paid_in": sum(row.paid_in for row in aside),
        "estimated": EstimatedPayment.objects.filter(
            date__gte=found.period.begin, date__lte=found.period.end
        ).order_by("date", "pk"),
        "is_over": found.period.end < now,
        "before": year - 1,
        "after": year + 1,
        "has_next": tax_year(year + 1, profile.country).begin <= now if year + 2 < MAXYEAR else False,
        "is_closed": profile.is_closed(found.period.end),
        "may_open": may_take_back(profile) and profile.closed_through == found.period.end,
        "defers": DEFERS,
        "here": "money",
    }
    return render(request, "billing/year/year.html", context)


def best_month(months: Sequence[PeriodTotals], drawn: Sequence[Bar]) -> dict:
    """Return the month in which most was received, and where its label stands above the chart."""
    at = max(range(len(months)), key=lambda n: months[n].received)
    anchor = "start" if at < MONTHS_A_QUARTER else "end" if at >= len(months) - MONTHS_A_QUARTER else "middle"
    return {"month": months[at], "x": drawn[at].middle, "anchor": anchor}


def with_bars(rows: Sequence[CategoryTotal]) -> list[tuple[CategoryTotal, Decimal]]:
    """Return what went out with the length of its bar, of 100."""
    most = max((row.amount for row in rows), default=0)
    return [
        (row, (max(row.amount, Decimal(0)) * 100 / most).quantize(TENTH) if most > 0 else 0) for row in rows
    ]


def mended_at(warning: mend.YearIssue) -> tuple[str, str]:
    """Return the address of the page where something is mended, and the words of the link."""
    name, words = MENDED_AT[warning.kind]
    about = warning.about
    if about is None or name in ("billing:mileage-rate-list", "practice:road"):
        return reverse(name), words
    return reverse(name, args=[about.isoformat() if isinstance(about, date) else about]), words


@require_POST
def year_close(request: HttpRequest, year: int) -> HttpResponse:
    return do(request, close_year, year, today(), message="Closed for good.", then=page_of(year))


@require_POST
def year_open(request: HttpRequest, year: int) -> HttpResponse:
    return do(request, take_back_closing, message="Open again.", then=page_of(year))


@GET_OR_POST
def estimated_change(request: HttpRequest, pk: int | None = None) -> HttpResponse:
    """Write down tax that was paid in ahead, or mend it."""
    row = get_object_or_404(EstimatedPayment, pk=pk) if pk else None
    acts = []
    if row:
        acts.append({"url": reverse("billing:estimated-remove", args=[pk]), "label": "Take it away"})
    return form_page(
        request,
        partial(EstimatedPaymentForm, instance=row, initial=None if row else {"date": today()}),
        heading="Tax paid in",
        lead="It is set against what is put aside, and is no expense.",
        caution=f"How much is due, and when, is not worked out here. {DEFERS}",
        back=(year_of_day(request, row.date if row else today()), "The year"),
        save=lambda form: keep_estimated(form.save(commit=False)),
        then=lambda kept: year_of_day(request, kept.date),
        more_acts=acts,
    )


@require_POST
def estimated_remove(request: HttpRequest, pk: int) -> HttpResponse:
    row = EstimatedPayment.objects.filter(pk=pk).first()
    if row is None:
        return redirect("billing:year-now")
    return do(request, remove_estimated, row, message="Taken away.", then=year_of_day(request, row.date))


def page_of(year: int) -> str:
    return reverse("billing:year", args=[year])


def year_of_day(request: HttpRequest, day: date) -> str:
    return page_of(tax_year_of(day, Profile.for_request(request).country))
