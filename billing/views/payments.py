"""Who owes, one client's account, and payments."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import partial

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_GET

from billing.actions.bouncing import bounce_check
from billing.actions.payments import change_payment, delete_payment, record_payment
from billing.actions.settling import credit_left
from billing.forms.payments import BounceForm, NewBounceForm, PaymentForm, RefundForm
from billing.models import Payment
from billing.reports.account_rows import invoice_row, payment_row
from billing.reports.ageing import ageing_of, pace_in_a_sentence, pace_of
from billing.reports.charges import charge_rows
from billing.reports.early_payment import offered
from billing.reports.late_fees import proposed_late_fees
from billing.reports.list_sheets import RECEIVABLE
from billing.reports.payment_page import deleted_payments, payment_page
from billing.reports.receivable import ClientBalance, account_of_client, who_owes
from billing.reports.spot import spot_billing
from billing.reports.turnover import received_in
from billing.tables.money import PaymentTable
from billing.views.closing import close_url
from billing.views.invoices import credit_row
from practice.lib.addresses import day_of, id_of, search_words
from practice.lib.downloads import file_asked_for
from practice.lib.formats import counted, medium_date, money
from practice.lib.forms import BookForm
from practice.lib.pages import GET_OR_POST, render_page
from practice.lib.periods import tax_year_around
from practice.lib.presses import row_uuid
from practice.lib.profile import Profile
from practice.lib.things import form_page, list_page
from practice.lib.today import now, today
from practice.models import Client, Visit
from practice.views.fetched import get_visit

DEPOSIT = (
    "Nothing is open, so this becomes credit for the next invoice. A deposit may count as income, or be"
    " taxed, on the day it is received. A licensed tax preparer decides."
)


@require_GET
def owed(request: HttpRequest) -> HttpResponse:
    """Who owes, the longest overdue first."""
    balances, profile, now = who_owes(), Profile.for_request(request), today()
    if file := file_asked_for(request, RECEIVABLE, balances, profile, now):
        return file
    context = {
        "heading": owed_in_words(balances, now, profile),
        "rows": [balance.row(now, profile) for balance in balances],
        "ageing": ageing_of(balances, now, profile),
        "late_fees": [(fee.charge.ref, fee.row(now, profile)) for fee in proposed_late_fees(now, profile)],
        "downloads": RECEIVABLE if balances else (),
        "here": "money",
    }
    return render(request, "billing/owed.html", context)


def owed_in_words(balances: list[ClientBalance], on: date, profile: Profile) -> str:
    """`$820.00 owed. 3 clients are overdue.`"""
    if not balances:
        return "Nobody owes anything."
    total = money(sum((row.open for row in balances), Decimal(0)), profile.currency, profile.locale)
    overdue = sum(row.days_overdue(on) > 0 for row in balances)
    if not overdue:
        return f"{total} owed. Nobody is overdue."
    return f"{total} owed. {counted(overdue, 'client')} {'is' if overdue == 1 else 'are'} overdue."


@require_GET
def client_account(request: HttpRequest, pk: int) -> HttpResponse:
    """A client's account: what is owed, credit, the latest invoices, credit notes and payments."""
    client, profile, on = get_object_or_404(Client, pk=pk), Profile.for_request(request), today()
    account = account_of_client(client)
    context = {
        "account": account,
        "owes": account.in_words(on, profile),
        "pace": pace_in_a_sentence(pace_of([client.pk], on).get(client.pk)),
        "invoices": [invoice_row(invoice, on, profile) for invoice in account.invoices],
        "payments": [payment_row(payment, profile) for payment in account.payments],
        "credit_notes": [credit_row(note, profile) for note in account.credit_notes],
        "charges": charge_rows(account.charges, profile),
        "deleted": deleted_payments(client, profile),
        "here": "money",
    }
    return render_page(
        request, "billing/clients/account.html", context, partial="billing/clients/_account.html"
    )


@require_GET
def payment_list(request: HttpRequest) -> HttpResponse:
    """Payments, the latest first."""
    profile = Profile.for_request(request)
    table = PaymentTable(Payment.objects.for_list().named(search_words(request)))
    context = {
        "received": received_in(tax_year_around(today(), profile.country)),
        "search": "Client or invoice number",
        "here": "money",
    }
    return list_page(request, table, "billing/payments/list.html", **context)


@require_GET
def payment_detail(request: HttpRequest, pk: int) -> HttpResponse:
    """A payment: what it settled, and what it was before."""
    payment = get_object_or_404(Payment.objects.for_detail(), pk=pk)
    context = {"page": payment_page(payment, Profile.for_request(request)), "here": "money"}
    return render(request, "billing/payments/detail.html", context)


@GET_OR_POST
def payment_add(request: HttpRequest, client: int) -> HttpResponse:
    """Record a payment. The address may name the invoice or the stop that it is for, and the way back."""
    payer = get_object_or_404(Client, pk=client)
    proposal = proposed_payment(request, payer)
    initial = {"date": today(), "method": Payment.Method.CHECK} | proposal.initial

    def save(form):
        data, uuid = dict(form.cleaned_data), row_uuid(request)
        on, amount, method = (data.pop(name) for name in ("date", "amount", "method"))
        return record_payment(payer, on, amount, method, **data, visit=proposal.visit, uuid=uuid)

    return form_page(
        request,
        partial(PaymentForm, initial=initial, client=payer),
        heading=f"Payment from {payer}",
        lead=proposal.lead,
        note=proposal.note,
        back=proposal.back,
        save=save,
        save_label="Record payment",
        message="Payment recorded.",
        entry=f"Payment from {payer}" if proposal.visit else "",
        entry_then=proposal.back[0],
        template="billing/payments/form.html",
    )


@dataclass(frozen=True)
class ProposedPayment:
    """What the form of a payment opens with, for what, and where it leads back to."""

    initial: dict[str, object]
    back: tuple[str, str]
    visit: Visit | None = None
    lead: str = ""
    note: str = ""


def proposed_payment(request: HttpRequest, payer: Client) -> ProposedPayment:
    """Propose what is left of the invoice that the address names, or what the stop comes to for the client.

    Else all that the client owes.
    """
    initial, back, visit, lead = {}, (payer.get_absolute_url(), str(payer)), None, ""
    if "invoice" in request.GET:
        invoice = get_object_or_404(payer.invoices.with_settled(), pk=id_of(request.GET["invoice"]))
        initial["invoices"], due = [str(invoice.pk)], invoice.open
        early = offered(invoice, Profile.for_request(request), today())
        lead = early.offer if early else ""
        back = (invoice.get_absolute_url(), invoice.number)
    elif "visit" in request.GET:
        visit = get_visit(id_of(request.GET["visit"]))
        due = spot_billing(visit, Profile.for_request(request), today()).due_of(payer)
        back = (visit.get_absolute_url(), str(visit.place))
        is_invoiced = payer.invoices.filter(lines__visit=visit).exists()
        lead = "" if is_invoiced else "It is kept for the invoice of this stop, which is not issued yet."
    else:
        due = payer.invoices.all().open_total()
    if due > 0:
        initial["amount"] = due
    if "close" in request.GET:
        back = (close_url(day_of(request.GET["close"])), "Close the day")
    note = "" if due > 0 else DEPOSIT
    return ProposedPayment(initial, back, visit, lead, note)


@GET_OR_POST
def refund_add(request: HttpRequest, client: int) -> HttpResponse:
    """Give money back, from the client's credit or from an invoice that the address may name."""
    payer = get_object_or_404(Client, pk=client)
    initial = {"date": today(), "method": Payment.Method.CHECK}
    back, credit = (reverse("billing:client-account", args=[client]), "Account"), credit_left(payer)
    if "invoice" in request.GET:
        invoice = get_object_or_404(payer.invoices.all(), pk=id_of(request.GET["invoice"]))
        initial["invoice"], back = invoice.pk, (invoice.get_absolute_url(), invoice.number)
    elif credit:
        initial["amount"] = credit

    def save(form):
        data, uuid = dict(form.cleaned_data), row_uuid(request)
        on, amount, method = (data.pop(name) for name in ("date", "amount", "method"))
        return record_payment(payer, on, amount, method, **data, uuid=uuid)

    return form_page(
        request,
        partial(RefundForm, initial=initial, client=payer),
        heading=f"Refund to {payer}",
        back=back,
        save=save,
        save_label="Record refund",
        message="Refund recorded.",
    )


@GET_OR_POST
def payment_bounce(request: HttpRequest, pk: int) -> HttpResponse:
    """Say that a check bounced: what it settled is open again."""
    check, profile = get_object_or_404(Payment.objects.for_detail(), pk=pk), Profile.for_request(request)
    sum_of_money = money(check.amount, profile.currency, profile.locale)

    def save(form):
        facts = dict(form.cleaned_data)
        return bounce_check(check, facts.pop("date"), **facts, uuid=row_uuid(request))

    return form_page(
        request,
        partial(NewBounceForm, initial={"date": today()}),
        heading=f"Did the {check.how} of {sum_of_money} bounce?",
        lead=f"It is taken back with a row of its own, and what it paid for {check.client} is open again.",
        back=(check.get_absolute_url(), "Payment"),
        save=save,
        then=Payment.get_absolute_url,
        message="Bounced check recorded.",
        save_label="Yes, it bounced",
    )


def form_of(payment: Payment) -> Callable:
    """Return the form that changes a payment, a refund or a bounced check."""
    if payment.reverses_id:
        return partial(BounceForm, row=payment)
    form = RefundForm if payment.amount < 0 else PaymentForm
    return partial(form, row=payment, client=payment.client)


@GET_OR_POST
def payment_change(request: HttpRequest, pk: int) -> HttpResponse:
    """Correct a payment; its history keeps what it was."""
    payment = get_object_or_404(Payment.objects.for_detail(), pk=pk)

    def save(form):
        return change_payment(payment, form.cleaned_data, by=request.user.get_username(), at=now())

    return form_page(
        request,
        form_of(payment),
        template="billing/payments/form.html",
        heading=f"Change the {payment.kind.lower()}, {payment.client}",
        lead="What it settled is worked out again, and what it was before stays in its history.",
        back=(payment.get_absolute_url(), "Payment"),
        save=save,
    )


@GET_OR_POST
def payment_remove(request: HttpRequest, pk: int) -> HttpResponse:
    """Ask once, then delete a payment; the client's account keeps what it was."""
    payment, profile = get_object_or_404(Payment.objects.for_detail(), pk=pk), Profile.for_request(request)
    sum_of_money = money(abs(payment.amount), profile.currency, profile.locale)
    on = medium_date(payment.date, profile.locale)
    return form_page(
        request,
        partial(BookForm, row=payment),
        heading=f"Delete the {payment.kind.lower()} of {sum_of_money}?",
        lead=f"{payment.client}, {payment.how}, {on}. What it settled is worked out"
        " again. It stays listed among the deleted payments of the account.",
        back=(payment.get_absolute_url(), "Payment"),
        save=lambda form: delete_payment(payment, by=request.user.get_username(), at=now()),
        then=reverse("billing:client-account", args=[payment.client_id]),
        message=f"{payment.kind} deleted.",
        save_label=f"Delete {payment.kind.lower()}",
    )
