"""Close the day: who is billed what, what to check first, and the one button that issues the invoices."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import partial

from django.contrib import messages
from django.db import transaction
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_POST

from billing.actions.checking import check_again, mark_as_right
from billing.actions.invoicing import close_days
from billing.models import Invoice
from billing.models.numbering import Numbers
from billing.papers.documents import invoices_in_one_pdf, write_invoice_pdfs
from billing.reports.billable import HeldVisit
from billing.reports.close_warnings import NO_READING, NO_WORK, PLANNED, CloseWarning
from billing.reports.closing import DayReport, day_report
from billing.reports.mail_state import DayMail, day_mail
from billing.reports.previews import InvoicePreview, invoice_previews
from billing.rules.lines import CREDITED, NO_OWNER, NO_PRICE
from practice.lib.errors import RuleBroken
from practice.lib.formats import counted, medium_date, money
from practice.lib.list_rows import ListRow
from practice.lib.pages import GET_OR_POST, round_url
from practice.lib.pdf_answers import pdf_response
from practice.lib.profile import Profile
from practice.lib.things import do
from practice.lib.today import today


@dataclass(frozen=True)
class CheckRow:
    """Something to check before the day is closed, and the links that lead there, the main one first.

    `held`: the visit waits, and nobody is billed for it. `warned` is the warning that it is about, if any.
    `again_url` is where it is said that a credited visit is to be billed again; blank for any other.
    """

    held: bool
    name: str
    text: str
    links: list[tuple[str, str]]
    warned: CloseWarning | None = None
    again_url: str = ""


@dataclass(frozen=True)
class IssuedRow:
    """An invoice of the day, and where its payment is recorded; blank where it is paid."""

    row: ListRow
    pay_url: str


@dataclass(frozen=True)
class ClosePage:
    """What the page shows of a day before it is closed."""

    report: DayReport
    previews: list[InvoicePreview]
    checks: list[CheckRow]
    issued: list[IssuedRow]
    mail: DayMail
    total: Decimal
    first_number: str
    profile: Profile

    @property
    def heading(self) -> str:
        """What there is to issue, and how much there is to check."""
        if not self.checks:
            return self._to_issue
        first = " first" if self.previews else ""
        return f"{self._to_issue} {counted(len(self.checks), 'thing')} to check{first}."

    @property
    def _to_issue(self) -> str:
        if self.previews:
            total = money(self.total, self.profile.currency, self.profile.locale)
            return f"{self.invoices}, {total}."
        if not self.report.is_closed:
            return "Nothing more to issue yet." if self.issued else "Nothing to issue yet."
        return "The day is closed." if self.report.stops else "Nothing to close."

    @property
    def invoices(self) -> str:
        """`1 invoice`, `6 invoices`."""
        return counted(len(self.previews), "invoice")

    @property
    def send_look(self) -> str:
        """How the button that sends looks: as the main one, unless invoices are still to be issued."""
        return "act-2" if self.previews else "act"

    @property
    def print_look(self) -> str:
        """How the button that prints looks: as the main one where there is nothing else to do."""
        return "act-2" if self.previews or self.mail.to_send and self.mail.is_set_up else "act"

    @property
    def print_label(self) -> str:
        """`Print the invoice`, `Print both invoices`, `Print all 6 invoices`."""
        if len(self.issued) <= 2:
            return "Print the invoice" if len(self.issued) == 1 else "Print both invoices"
        return f"Print all {counted(len(self.issued), 'invoice')}"


def close_url(on: date) -> str:
    return reverse("billing:close-day", args=[on.isoformat()])


@GET_OR_POST
def close_day(request: HttpRequest, day: date) -> HttpResponse:
    """Show a day before it is closed; POST issues what is due, once however often it is pressed."""
    if request.method == "POST":
        return issue(request, day)
    context = {
        "day": day,
        "page": close_page(day, Profile.for_request(request)),
        "here": "round",
    }
    return render(request, "billing/closing/close.html", context)


def close_page(on: date, profile: Profile) -> ClosePage:
    """Return what the page shows of a day."""
    report = day_report(on, profile, today())
    invoices = list(Invoice.objects.for_day(on).select_related("client"))
    mail = day_mail(invoices, profile)
    return ClosePage(
        report,
        invoice_previews(report.drafts, profile),
        [*map(held_row, report.held), *map(warning_row, report.warnings)],
        [issued_row(invoice, on, profile, mail.states.get(invoice.number, "")) for invoice in invoices],
        mail,
        report.total(profile.currency),
        Numbers(profile.invoice_prefix).draw(on.year) if report.drafts else "",
        profile,
    )


def issue(request: HttpRequest, on: date) -> HttpResponse:
    """Issue what is due, make the PDFs and go back to the page, which says what was issued."""
    try:
        invoices = close_days(on, on, today()).invoices
    except RuleBroken as error:
        messages.error(request, str(error))
        return redirect(close_url(on))
    transaction.on_commit(partial(write_pdfs, request, [invoice.pk for invoice in invoices]))
    messages.success(request, issued_in_words([invoice.number for invoice in invoices]))
    return redirect(close_url(on))


def issued_in_words(numbers: list[str]) -> str:
    """`6 invoices issued, GF-2026-0187 to GF-2026-0192.`"""
    if not numbers:
        return "There was nothing left to issue."
    span = numbers[0] if len(numbers) == 1 else f"{numbers[0]} to {numbers[-1]}"
    return f"{counted(len(numbers), 'invoice')} issued, {span}."


def write_pdfs(request: HttpRequest, keys: list[int]) -> None:
    """Make the PDFs once the invoices are in the book for good, and say what went wrong."""
    if problem := write_invoice_pdfs(keys):
        messages.error(request, problem)


def issued_row(invoice: Invoice, on: date, profile: Profile, mail_state: str) -> IssuedRow:
    """Return an invoice of the day: whose it is, its number, how far its mail got, its total, and whether it
    is paid.
    """
    style, is_open = (profile.currency, profile.locale), invoice.open > 0
    part_paid = is_open and (invoice.settled or invoice.credited)
    row = ListRow(
        invoice.get_absolute_url(),
        invoice.client_name,
        more=", ".join(filter(None, [invoice.number, mail_state.lower()])),
        fact=money(invoice.total, *style),
        note=f"{money(invoice.open, *style)} open" if part_paid else "" if is_open else invoice.settled_word,
    )
    add = reverse("billing:payment-add", args=[invoice.client_id])
    return IssuedRow(row, f"{add}?invoice={invoice.pk}&close={on.isoformat()}" if is_open else "")


@require_GET
def day_document(request: HttpRequest, day: date) -> HttpResponse:
    """All invoices of a day as one PDF to print."""
    invoices = list(Invoice.objects.for_day(day).select_related("client"))
    if not invoices:
        raise Http404
    title = f"Invoices, {medium_date(day, Profile.for_request(request).locale)}"
    return pdf_response(request, partial(invoices_in_one_pdf, invoices, title), f"invoices {day.isoformat()}")


@require_POST
def warning_right(request: HttpRequest, day: date) -> HttpResponse:
    """Mark a warning of the day as right; with `again` it is to be checked again."""
    text, then = request.POST.get("text", ""), close_url(day)
    if "again" in request.POST:
        return do(request, check_again, day, text, message="It is to be checked again.", then=then)
    return do(request, mark_as_right, day, text, message="Marked as right.", then=then)


def held_row(held: HeldVisit) -> CheckRow:
    """Return a visit that is held back, and where to go for it."""
    visit, horse = held.visit, held.horse
    again = ""
    if held.code == CREDITED:
        links = [(visit.get_absolute_url(), "Look at the stop")]
        again = reverse("billing:visit-again", args=[visit.pk]) + "?close"
    elif held.code == NO_OWNER:
        links = [(reverse("practice:horse-owners", args=[horse.pk]), "Add an owner")]
    elif held.code == NO_PRICE:
        links = [
            (reverse("practice:visit-horse", args=[visit.pk, horse.pk]), "Enter a price"),
            (reverse("practice:service-list"), "Price list"),
        ]
    elif visit.vehicle_id:
        add = reverse("practice:leg-add", args=[visit.date.isoformat(), visit.vehicle_id])
        links = [(add if held.lacks_way_back else f"{add}?visit={visit.pk}", "Log the drive")]
    else:
        links = [(round_url(visit.date), "Log the drive")]
    text = f"{held.reason} Held back: nobody is billed for this stop."
    return CheckRow(True, str(visit.place), text, links, again_url=again)


def warning_row(warning: CloseWarning) -> CheckRow:
    """Return what looks wrong, and where to fix it."""
    visit_url = reverse("practice:visit-detail", args=[warning.visit.pk])
    if warning.kind == PLANNED:
        move = reverse("practice:visit-move", args=[warning.visit.pk])
        links = [(visit_url, "Enter the work"), (move, "Move the stop")]
    elif warning.kind == NO_WORK:
        links = [(visit_url, "Enter the work")]
    elif warning.kind == NO_READING:
        links = [(round_url(warning.date), "Enter the odometer")]
    else:
        horse_url = reverse("practice:visit-horse", args=[warning.visit.pk, warning.horse.pk])
        billed = "It is billed as entered." if warning.visit.locked else "It will be billed as entered."
        return CheckRow(
            False, "", f"{warning.text} {billed}", [(horse_url, f"Open {warning.horse}")], warning
        )
    return CheckRow(False, "", warning.text, links, warning)
