"""Payments, and what they settle."""

import uuid as uuids
from collections import Counter
from collections.abc import Iterable, Mapping
from datetime import date, datetime
from decimal import Decimal

from django.db import transaction

from billing.actions.accounts import keep_account_days
from billing.models import CreditNote, Invoice, InvoiceLine, Payment, PaymentChange, Settlement
from billing.models.payment import PAYMENT_FIELDS
from billing.rules.settling import Bill, CreditNoteValue, Outcome, Paid, Settled, settle
from practice.lib.errors import RuleBroken
from practice.lib.money import round_money
from practice.lib.profile import Profile
from practice.models import Client, Visit


@transaction.atomic
def record_payment(
    client: Client,
    on: date,
    amount: Decimal,
    method: str,
    *,
    invoice: Invoice | None = None,
    visit: Visit | None = None,
    tip: Decimal = Decimal(0),
    note: str = "",
    bounced: bool = False,
    uuid: uuids.UUID | None = None,
) -> Payment:
    """Record a payment (below zero: a refund or a bounced check) and settle the client's invoices.

    With a `uuid` that is in the book already, that payment is returned and nothing changes. A payment
    dated on a closed day takes the first open day, and its note says when it was made. Raises
    RuleBroken as `check_payment` does, and "payment_deleted" for the `uuid` of one that was deleted.
    """
    if uuid and (known := Payment.objects.filter(uuid=uuid).first()):
        return known
    if uuid and PaymentChange.objects.filter(payment=uuid, what=PaymentChange.What.DELETED).exists():
        raise payment_deleted()
    profile = Profile.locked()
    check_payment(client, amount, tip, invoice, profile.currency, bounced)
    on, note = profile.date_payment(on, note)
    payment = Payment.objects.create(
        uuid=uuid or uuids.uuid4(),
        client=client,
        date=on,
        amount=amount,
        method=method,
        invoice=invoice,
        visit=visit,
        tip=tip,
        note=note,
        bounced=bounced,
    )
    resettle_client(client)
    return payment


@transaction.atomic
def change_payment(payment: Payment, values: Mapping[str, object], *, by: str, at: datetime) -> Payment:
    """Correct a payment, keep what it was before in its history, and settle the client's invoices anew.

    `values` are any of date, amount, method, invoice, visit, tip, note and bounced. `by` is who changes
    it, `at` when. Raises RuleBroken as `check_payment` does, "day_closed" where its date, old or new, is
    closed for good, and "payment_deleted"; then nothing is changed.
    """
    profile = Profile.locked()
    payment = still_there(payment)
    profile.check_open(payment.date)
    before = facts_of(payment)
    for name, value in values.items():
        setattr(payment, name, value)
    if facts_of(payment) == before:
        return payment
    profile.check_open(payment.date)
    check_payment(
        payment.client, payment.amount, payment.tip, payment.invoice, profile.currency, payment.bounced
    )
    keep_history(payment, before, PaymentChange.What.CHANGED, by, at)
    payment.save(update_fields=list(values))
    chosen = payment.settlements.filter(by_hand=True)
    if before["invoice"] or before["visit"]:
        chosen.delete()  # what it names now is chosen anew
    else:
        for row in chosen.select_related("invoice"):
            row.date = max(payment.date, row.invoice.issued)
            row.save(update_fields=["date"])
    resettle_client(payment.client)
    return payment


@transaction.atomic
def delete_payment(payment: Payment, *, by: str, at: datetime) -> None:
    """Delete a payment, keep what it was in its history, and settle the client's invoices anew.

    Raises RuleBroken "day_closed" where its date is closed for good, and "payment_deleted".
    """
    profile = Profile.locked()
    payment = still_there(payment)
    profile.check_open(payment.date)
    keep_history(payment, facts_of(payment), PaymentChange.What.DELETED, by, at)
    payment.settlements.all().delete()
    payment.delete()
    resettle_client(payment.client)


def still_there(payment: Payment) -> Payment:
    """Return the payment as it is now. Raises RuleBroken("payment_deleted")."""
    row = Payment.objects.select_for_update().filter(pk=payment.pk).first()
    if row is None:
        raise payment_deleted()
    return row


def payment_deleted() -> RuleBroken:
    """Return the refusal for a payment that was deleted."""
    return RuleBroken("payment_deleted", "This payment was deleted. Open the form again to record another.")


def facts_of(payment: Payment) -> dict[str, object]:
    """Return what is written down of a payment, by field."""
    return {name: getattr(payment, name) for name in PAYMENT_FIELDS}


def keep_history(payment: Payment, facts: dict[str, object], what: str, by: str, at: datetime) -> None:
    """Keep what a payment was."""
    PaymentChange.objects.create(payment=payment.key, what=what, at=at, by=by, **facts)


def check_payment(
    client: Client,
    amount: Decimal,
    tip: Decimal,
    invoice: Invoice | None,
    currency: str,
    bounced: bool = False,
) -> None:
    """Raise RuleBroken where a payment cannot be recorded.

    Codes: `amount_zero`, `amount_too_fine`, `tip_out_of_range`, `bounced_above_zero`,
    `invoice_of_another_client`.
    """
    if amount == 0:
        raise RuleBroken("amount_zero", "Enter an amount above 0, or below 0 for a refund.")
    for value in (amount, tip):
        if round_money(value, currency) != value:
            raise RuleBroken("amount_too_fine", f"{value} has too many decimals for {currency}.")
    if tip < 0 or tip > max(amount, Decimal(0)):
        raise RuleBroken("tip_out_of_range", "The tip is part of the amount: enter 0 up to the amount.")
    if bounced and amount > 0:
        raise RuleBroken("bounced_above_zero", "A bounced check is below zero: enter it with a minus.")
    if invoice and invoice.client_id != client.pk:
        raise RuleBroken(
            "invoice_of_another_client",
            f"Invoice {invoice.number} belongs to another client. Choose one of {client}'s invoices.",
        )


def account_of(client: Client, more: Iterable[Bill] = (), visits: Iterable[int] = ()) -> Outcome:
    """Return how a client's payments settle the client's invoices, worked out by date.

    `more` are invoices about to be issued; `visits` those that the first of them holds.
    """
    more = list(more)
    bills = [Bill(row.pk, row.number, row.issued, row.total) for row in Invoice.objects.filter(client=client)]
    credits = [
        CreditNoteValue(row.invoice_id, row.issued, row.total)
        for row in CreditNote.objects.filter(invoice__client=client).order_by("pk")
    ]
    payments = list(Payment.objects.filter(client=client).order_by("pk"))
    holds = {}
    if any(row.visit_id and not row.invoice_id for row in payments):
        lines = InvoiceLine.objects.filter(client=client, invoice__isnull=False, visit__isnull=False)
        lines = lines.order_by("-invoice__issued", "-invoice__number")
        holds = dict(lines.values_list("visit", "invoice"))
        for visit in visits:
            holds.setdefault(visit, more[0].key)
    paid = [
        Paid(row.pk, row.pk, row.date, row.amount, row.tip, row.invoice_id or holds.get(row.visit_id))
        for row in payments
    ]
    recorded = [
        Settled(row.payment_id, row.invoice_id, row.date, row.amount, row.by_hand)
        for row in Settlement.objects.filter(payment__client=client).order_by("date", "pk")
    ]
    named = {row.key for row in paid if row.invoice}
    chosen = [row for row in recorded if row.by_hand and row.amount > 0 and row.payment not in named]
    return settle([*bills, *more], paid, credits, Profile.current().closed_through, recorded, chosen)


def credit_left(client: Client) -> Decimal:
    """Return the client's credit: what was paid and has not settled anything yet."""
    return sum(account_of(client).credit.values(), Decimal(0))


@transaction.atomic
def resettle_client(client: Client) -> None:
    """Work the client's settlements out anew, back to the last closed day, and save them.

    Rows that stay the same are not touched.
    """
    outcome = account_of(client)
    wanted = Counter(outcome.rows)
    stale = []
    for row in Settlement.objects.filter(payment__client=client).order_by("pk"):
        key = Settled(row.payment_id, row.invoice_id, row.date, row.amount, row.by_hand)
        if wanted[key]:
            wanted[key] -= 1
        else:
            stale.append(row.pk)
    Settlement.objects.filter(pk__in=stale).delete()
    new = []
    for row in outcome.rows:
        if wanted[row]:
            wanted[row] -= 1
            new.append(
                Settlement(
                    payment_id=row.payment,
                    invoice_id=row.invoice,
                    date=row.date,
                    amount=row.amount,
                    by_hand=row.by_hand,
                )
            )
    Settlement.objects.bulk_create(new)
    keep_account_days(client)


def resettle_clients(clients: Iterable[Client]) -> None:
    """Work the settlements of these clients out anew, once each."""
    for client in clients:
        resettle_client(client)
