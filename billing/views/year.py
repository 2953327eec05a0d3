"""The year: its totals, what is still to fix, closing it, and estimated tax that was paid."""

from datetime import date
from functools import partial

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_POST

from billing.actions.closing_years import close_year, reopen_year
from billing.actions.estimated import delete_estimated, save_estimated
from billing.forms.year import EstimatedPaymentForm
from billing.models import EstimatedPayment
from billing.reports.year.page import YearPage
from billing.reports.year_end import DEFERS, year_end
from practice.lib.pages import GET_OR_POST
from practice.lib.periods import FIRST_YEAR, tax_year_of
from practice.lib.profile import Profile
from practice.lib.things import do, form_page
from practice.lib.today import today


@require_GET
def year_now(request: HttpRequest) -> HttpResponse:
    """Go to the tax year of today."""
    return redirect(url_of_day(request, today()))


@require_GET
def year_page(request: HttpRequest, year: int) -> HttpResponse:
    """The totals of the tax year that begins in `year`."""
    profile = Profile.for_request(request)
    page = YearPage(year_end(year, profile, today()), profile, today())
    before = year - 1 if year > FIRST_YEAR else None
    context = {"page": page, "year": page.year, "before": before, "after": year + 1, "defers": DEFERS}
    return render(request, "billing/year/year.html", context | {"here": "money"})


@require_POST
def year_close(request: HttpRequest, year: int) -> HttpResponse:
    return do(request, close_year, year, today(), message="The year is closed.", then=year_url(year))


@require_POST
def year_open(request: HttpRequest, year: int) -> HttpResponse:
    return do(request, reopen_year, message="The year is open again.", then=year_url(year))


@GET_OR_POST
def estimated_change(request: HttpRequest, pk: int | None = None) -> HttpResponse:
    """Add a payment of estimated tax, or change it."""
    payment = get_object_or_404(EstimatedPayment, pk=pk) if pk else None
    acts = [{"url": reverse("billing:estimated-remove", args=[pk]), "label": "Delete"}] if payment else []
    return form_page(
        request,
        partial(EstimatedPaymentForm, instance=payment, initial=None if payment else {"date": today()}),
        heading="Estimated tax paid",
        lead="It counts against what you set aside. It is not an expense.",
        note=f"How much you owe, and when, is not calculated here. {DEFERS}",
        back=(url_of_payment(request, payment) if payment else url_of_day(request, today()), "Year"),
        save=lambda form: save_estimated(form.save(commit=False)),
        then=lambda saved: url_of_payment(request, saved),
        more_acts=acts,
    )


@require_POST
def estimated_remove(request: HttpRequest, pk: int) -> HttpResponse:
    """Delete a payment of estimated tax; one that is gone already leads to this year."""
    payment = EstimatedPayment.objects.filter(pk=pk).first()
    if payment is None:
        return redirect("billing:year-now")
    return do(request, delete_estimated, payment, message="Deleted.", then=url_of_payment(request, payment))


def year_url(year: int) -> str:
    """Return the address of the tax year that begins in `year`."""
    return reverse("billing:year", args=[year])


def url_of_payment(request: HttpRequest, payment: EstimatedPayment) -> str:
    """Return the address of the tax year that a payment is for."""
    return year_url(payment.year_in(Profile.for_request(request).country))


def url_of_day(request: HttpRequest, day: date) -> str:
    """Return the address of the tax year of a day."""
    return year_url(tax_year_of(day, Profile.for_request(request).country))
