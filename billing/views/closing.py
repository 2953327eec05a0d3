"""Close the day: who is billed what, what looks wrong, and the one button that issues."""

from datetime import date

from django.contrib import messages
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from billing.actions.invoicing import close_days
from billing.models import Invoice
from billing.models.numbering import Numbers
from billing.papers.documents import write_invoice_pdfs
from billing.reports.bills import draft_blocks
from billing.reports.closing import NO_READING, PLANNED, CloseWarning, day_report
from billing.reports.drafts import InvoiceDraft
from billing.rules.totals import by_name_and_rate
from practice.lib.errors import RuleBroken
from practice.lib.pages import GET_OR_POST, day_of, round_url
from practice.lib.profile import Profile
from practice.lib.today import today


def close_url(on: date) -> str:
    return reverse("billing:close-day", args=[on.isoformat()])


@GET_OR_POST
def close_day(request: HttpRequest, day: str) -> HttpResponse:
    """Show a day before it is closed; POST issues what is due, once however often it is pressed."""
    on = day_of(day)
    if request.method == "POST":
        return issue(request, on)
    profile = Profile.for_request(request)
    report = day_report(on, profile, today())
    context = {
        "day": on,
        "report": report,
        "total": report.total(profile.currency),
        "bills": [bill_of(draft, profile) for draft in report.drafts],
        "mends": [(warned, mend_url(warned)) for warned in report.warnings],
        "to_mend": len(report.held) + len(report.warnings),
        "first": Numbers(profile.invoice_prefix).draw(on.year) if report.drafts else "",
        "issued": Invoice.objects.filter(issued=on).select_related("client").order_by("pk"),
        "here": "round",
    }
    return render(request, "billing/closing/close.html", context)


def issue(request: HttpRequest, on: date) -> HttpResponse:
    try:
        closing = close_days(on, on, today())
    except RuleBroken as error:
        messages.error(request, str(error))
        return redirect(close_url(on))
    numbers = [invoice.number for invoice in closing.invoices]
    if not numbers:
        messages.success(request, "Nothing was left to issue: no invoice was made twice.")
        return redirect(close_url(on))
    keys = [invoice.pk for invoice in closing.invoices]
    problem = write_after_commit(keys)
    if problem:
        messages.error(request, problem)
    said = f"{numbers[0]} to {numbers[-1]}" if len(numbers) > 1 else numbers[0]
    count = "1 invoice" if len(numbers) == 1 else f"{len(numbers)} invoices"
    messages.success(request, f"{count} issued, {said}.")
    return redirect(close_url(on))


def write_after_commit(keys: list[int]) -> str:
    """Make the PDFs once the invoices are in the book for good; return what went wrong."""
    problems = []
    transaction.on_commit(lambda: problems.append(write_invoice_pdfs(keys)))
    return problems[0] if problems else ""


def bill_of(draft: InvoiceDraft, profile: Profile) -> dict:
    """Return a draft as the page shows it."""
    sums = draft.totals(profile.currency)
    return {
        "client": draft.client,
        "date": draft.date,
        "total": sums.total,
        "net": sums.net,
        "taxes": by_name_and_rate(sums.taxes),
        "blocks": draft_blocks(draft),
    }


def mend_url(warned: CloseWarning) -> tuple[str, str]:
    """Return the address that mends what looks wrong, and what its button says."""
    if warned.kind == PLANNED:
        return reverse("practice:visit-detail", args=[warned.visit.pk]), "Enter it"
    if warned.kind == NO_READING:
        return round_url(warned.date), "Write the odometer down"
    if warned.horse:
        return reverse("practice:visit-horse", args=[warned.visit.pk, warned.horse.pk]), "Look at it"
    return reverse("practice:visit-detail", args=[warned.visit.pk]), "Enter the work"
