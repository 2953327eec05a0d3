"""Invoices: their list, one of them, and its PDF."""

from dataclasses import dataclass
from datetime import date
from functools import partial

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_GET, require_POST

from billing.actions.early_payment import give_early_discount
from billing.models import CreditNote, Dispute, Invoice, Settlement
from billing.papers.documents import invoice_pdf
from billing.papers.invoice import InvoicePaper, file_name, invoice_paper
from billing.reports.early_payment import EarlyDiscount, just_kept
from billing.reports.mail_state import ThingMail, mail_about_invoice
from billing.reports.shared import link_rows
from billing.reports.turnover import billed_in, open_invoices
from billing.tables.money import InvoiceTable
from practice.lib.addresses import search_words
from practice.lib.formats import amount, days_over, medium_date, money
from practice.lib.list_rows import ListRow
from practice.lib.pdf_answers import pdf_response
from practice.lib.periods import tax_year_around
from practice.lib.presses import row_uuid
from practice.lib.profile import Profile
from practice.lib.things import do, list_page
from practice.lib.today import today


@require_GET
def invoice_list(request: HttpRequest) -> HttpResponse:
    """Invoices, the open ones first."""
    profile = Profile.for_request(request)
    table = InvoiceTable(Invoice.objects.open_first().named(search_words(request)))
    context = {
        "open": open_invoices(),
        "billed": billed_in(tax_year_around(today(), profile.country)),
        "search": "Client or invoice number",
        "here": "money",
    }
    return list_page(request, table, "billing/invoices/list.html", **context)


@dataclass(frozen=True)
class InvoicePage:
    """An invoice with what is printed on it and what was paid for it."""

    invoice: Invoice
    paper: InvoicePaper
    settlements: list[Settlement]
    credit_notes: list[ListRow]
    mail: ThingMail
    links: list[ListRow]
    disputes: list[Dispute]
    early: EarlyDiscount | None
    on: date
    profile: Profile

    @property
    def heading(self) -> str:
        """`$80.00 due, 7 days overdue.`, `$120.00, paid in full.` or `$120.00, credited in full.`"""
        if self.invoice.open <= 0:
            return f"{self._money(self.invoice.total)}, {self.invoice.settled_word} in full."
        days = (self.on - self.invoice.due).days
        overdue = f", {days_over(days)}" if days > 0 else ""
        return f"{self._money(self.invoice.open)} due{overdue}."

    @property
    def dispute(self) -> Dispute | None:
        """The dispute that is not settled, if any."""
        return next((row for row in self.disputes if row.settled_on is None), None)

    @property
    def settled_disputes(self) -> list[Dispute]:
        return [row for row in self.disputes if row.settled_on]

    @property
    def can_be_credited(self) -> bool:
        return self.invoice.total > self.invoice.credited

    def _money(self, value) -> str:
        return money(value, self.profile.currency, self.profile.locale)


@require_GET
def invoice_detail(request: HttpRequest, pk: int) -> HttpResponse:
    """An invoice: paid or not, what it bills, what was paid."""
    invoice = get_object_or_404(Invoice.objects.for_list(), pk=pk)
    settlements = list(invoice.settlements.select_related("payment").order_by("date", "pk"))
    profile, on = Profile.for_request(request), today()
    page = InvoicePage(
        invoice,
        invoice_paper(invoice),
        settlements,
        [credit_row(note, profile) for note in invoice.credit_notes.for_list().order_by("pk")],
        mail_about_invoice(invoice, profile, on),
        link_rows(invoice.shared_links.order_by("-pk"), profile, on),
        list(invoice.disputes.order_by("-opened_on", "-pk")),
        just_kept(invoice, profile),
        on,
        profile,
    )
    return render(request, "billing/invoices/detail.html", {"page": page, "here": "money"})


@require_POST
def early_discount(request: HttpRequest, pk: int) -> HttpResponse:
    """Credit what a client kept for paying early, after the page said what it is."""
    invoice = get_object_or_404(Invoice.objects.select_related("client"), pk=pk)
    then, message = invoice.get_absolute_url(), "The early-payment discount is credited."
    return do(request, give_early_discount, invoice, today(), row_uuid(request), message=message, then=then)


def credit_row(note: CreditNote, profile: Profile) -> ListRow:
    """Return a credit note as a row of what belongs to it: its number, date, reason and total."""
    return ListRow(
        note.get_absolute_url(),
        note.number,
        f"{medium_date(note.issued, profile.locale)}, {note.get_reason_display().lower()}",
        amount(-note.total, profile.currency, profile.locale),
    )


@require_GET
def invoice_document(request: HttpRequest, pk: int) -> HttpResponse:
    """The invoice as PDF, made now if it is not there yet."""
    invoice = get_object_or_404(Invoice.objects.select_related("client"), pk=pk)
    return pdf_response(request, partial(invoice_pdf, invoice), file_name(invoice.number))
