"""Credit notes: issue one, their list, one of them, its PDF; and how a stop is billed."""

from functools import partial

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_POST

from billing.actions.crediting import bill_again, bill_again_undone, first_day_to_credit, issue_credit_note
from billing.forms.credits import CreditForm, initial_credit
from billing.models import CreditNote, Invoice
from billing.papers.credit_messages import CREDIT_NOTE
from billing.papers.documents import credit_note_pdf
from billing.papers.invoice import file_name
from billing.reports.credit_page import credit_note_page
from billing.reports.credits import credits_of_invoice
from billing.reports.mail_state import mail_about
from billing.reports.turnover import credited_in
from billing.reports.visit_billing import visit_billing
from billing.tables.money import CreditNoteTable
from billing.views.closing import close_url
from practice.lib.addresses import search_words
from practice.lib.pages import GET_OR_POST, render_page
from practice.lib.pdf_answers import pdf_response
from practice.lib.periods import tax_year_around
from practice.lib.presses import row_uuid
from practice.lib.profile import Profile
from practice.lib.things import do, form_page, list_page
from practice.lib.today import today
from practice.views.fetched import get_visit


@require_GET
def credit_note_list(request: HttpRequest) -> HttpResponse:
    """Credit notes, the latest first."""
    profile = Profile.for_request(request)
    table = CreditNoteTable(CreditNote.objects.for_list().named(search_words(request)))
    context = {
        "credited": credited_in(tax_year_around(today(), profile.country)),
        "search": "Client or number",
        "here": "money",
    }
    return list_page(request, table, "billing/credit_notes/list.html", **context)


@GET_OR_POST
def credit_note_add(request: HttpRequest, pk: int) -> HttpResponse:
    """Credit an invoice, or some of its lines; what comes of it is shown before it is issued."""
    invoice = get_object_or_404(Invoice.objects.select_related("client"), pk=pk)
    credits, profile = credits_of_invoice(invoice), Profile.for_request(request)
    initial = initial_credit(first_day_to_credit(credits, today(), profile))

    def save(form: CreditForm) -> CreditNote:
        facts = {name: form.cleaned_data[name] for name in ("reason", "again", "note")}
        on = form.cleaned_data["date"]
        return issue_credit_note(invoice, on, form.amounts, **facts, uuid=row_uuid(request))

    return form_page(
        request,
        partial(CreditForm, initial=initial, credits=credits),
        heading=f"Credit invoice {invoice.number}",
        lead=f"A credit note is final once issued, like an invoice. It is made out to {invoice.client}.",
        back=(invoice.get_absolute_url(), invoice.number),
        save=save,
        then=CreditNote.get_absolute_url,
        message=lambda note: f"Credit note {note.number} issued.",
        template="billing/credit_notes/form.html",
    )


@require_GET
def credit_note_detail(request: HttpRequest, pk: int) -> HttpResponse:
    """A credit note: what it took off its invoice, and what is free again."""
    note = get_object_or_404(CreditNote.objects.for_list(), pk=pk)
    profile = Profile.for_request(request)
    send_url = reverse("billing:credit-note-send", args=[pk])
    context = {
        "page": credit_note_page(note, profile),
        "mail": mail_about((CREDIT_NOTE,), note, send_url, profile, today()),
        "here": "money",
    }
    return render(request, "billing/credit_notes/detail.html", context)


@require_GET
def credit_note_document(request: HttpRequest, pk: int) -> HttpResponse:
    """The credit note as PDF, made now if it is not there yet."""
    note = get_object_or_404(CreditNote.objects.for_list(), pk=pk)
    return pdf_response(request, partial(credit_note_pdf, note), file_name(note.number))


@require_GET
def visit_billed(request: HttpRequest, pk: int) -> HttpResponse:
    """How a stop is billed: its invoices and credit notes, and whether it waits to be billed again."""
    visit = get_visit(pk)
    context = {"page": visit_billing(visit, Profile.for_request(request), today()), "here": "round"}
    return render_page(request, "billing/visits/billed.html", context, partial="billing/visits/_billed.html")


@require_POST
def visit_again(request: HttpRequest, pk: int) -> HttpResponse:
    """Say that a stop, which was credited in full, is to be billed again."""
    visit = get_visit(pk)
    then = close_url(visit.date) if "close" in request.GET else visit.get_absolute_url()
    return do(
        request, bill_again, visit, message="It will be billed again when you close its day.", then=then
    )


@require_POST
def visit_again_undo(request: HttpRequest, pk: int) -> HttpResponse:
    """Take back that a stop, which was credited in full, is to be billed again."""
    visit = get_visit(pk)
    message = "It is held back: nobody is billed for it until you say so."
    return do(request, bill_again_undone, visit, message=message, then=visit.get_absolute_url())
