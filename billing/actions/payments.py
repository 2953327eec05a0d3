"""Payments: recorded, corrected and deleted."""

import uuid as uuids
from collections.abc import Mapping, Sequence
from datetime import date, datetime
from decimal import Decimal

from django.db import transaction

from billing.actions.card_fees import fee_of, keep_card_fee
from billing.actions.payment_checks import (
    check_invoice,
    check_not_bounced,
    check_not_deposited,
    check_payment,
    check_several,
    payment_deleted,
)
from billing.actions.settling import resettle_client
from billing.models import Invoice, Payment, PaymentChange, Settlement
from billing.models.payment import PAYMENT_FIELDS
from practice.lib.profile import Profile
from practice.models import Client, Visit

IN_A_DEPOSIT = ("date", "amount", "method")  # what stays while a payment is in a bank deposit


@transaction.atomic
def record_payment(
    client: Client,
    on: date,
    amount: Decimal,
    method: str,
    *,
    invoice: Invoice | None = None,
    invoices: Sequence[Invoice] = (),
    visit: Visit | None = None,
    tip: Decimal = Decimal(0),
    fee: Decimal | None = None,
    check_number: str = "",
    note: str = "",
    bounced: bool = False,
    uuid: uuids.UUID | None = None,
) -> Payment:
    """Record a payment (below zero: a refund or a bounced check) and settle the client's invoices.

    Several `invoices` are settled by hand, each up to what is left of it, by date, then number. The `fee` of
    a card payment becomes an expense.
    With a `uuid` that is in the book already, that payment is returned and nothing changes. A payment
    dated on a closed day takes the first open day, and its note says when it was made. Raises
    RuleBroken as `check_payment` does, and "payment_deleted" for the `uuid` of one that was deleted.
    """
    if uuid and (known := Payment.objects.filter(uuid=uuid).first()):
        return known
    if uuid and PaymentChange.objects.filter(payment=uuid, what=PaymentChange.What.DELETED).exists():
        raise payment_deleted()
    profile = Profile.locked()
    invoice = invoices[0] if len(invoices) == 1 else invoice
    for named in invoices or filter(None, [invoice]):
        check_invoice(client, named)
    check_payment(amount, tip, profile.currency, bounced)
    check_several(amount, invoices)
    visit = None if len(invoices) > 1 else visit
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
        check_number=check_number,
        note=note,
        bounced=bounced,
    )
    choose_invoices(payment, invoices)
    keep_card_fee(payment, fee or Decimal(0))
    resettle_client(client)
    return payment


@transaction.atomic
def change_payment(payment: Payment, values: Mapping[str, object], *, by: str, at: datetime) -> Payment:
    """Correct a payment, keep what it was before in its history, and settle the client's invoices anew.

    `values` are any of date, amount, method, invoice, invoices, visit, tip, fee, check_number, note and
    bounced. `by` is who changes it, `at` when. Raises RuleBroken as `check_payment` does, "day_closed" where
    its date, old or new, is closed for good, "payment_bounced", "payment_deposited" and "payment_deleted".
    """
    profile = Profile.locked()
    payment = still_there(payment)
    profile.check_open(payment.date)
    before, values = facts_of(payment), dict(values)
    if "fee" in values:
        values["fee"] = values["fee"] or Decimal(0)
    invoices, fee = values.pop("invoices", None), values.pop("fee", fee_of(payment))
    if invoices is not None:
        values["invoice"] = invoices[0] if len(invoices) == 1 else None
        values |= {"visit": None} if len(invoices) > 1 else {}
    for name, value in values.items():
        setattr(payment, name, value)
    after = facts_of(payment) | ({} if invoices is None else {"invoices": in_numbers(invoices)})
    if after == before:
        keep_card_fee(payment, fee)
        return payment
    profile.check_open(payment.date)
    check_not_bounced(payment)
    if any(before[name] != after[name] for name in IN_A_DEPOSIT):
        check_not_deposited(payment)
    for named in invoices or filter(None, [payment.invoice]):
        check_invoice(payment.client, named)
    check_payment(payment.amount, payment.tip, profile.currency, payment.bounced)
    check_several(payment.amount, invoices or ())
    keep_history(payment, before, PaymentChange.What.CHANGED, by, at)
    payment.save(update_fields=list(values))
    if invoices is not None:
        choose_invoices(payment, invoices)
    else:
        keep_chosen(payment, before)
    keep_card_fee(payment, fee)
    resettle_client(payment.client)
    return payment


def choose_invoices(payment: Payment, invoices: Sequence[Invoice]) -> None:
    """Set parts of a payment aside for several invoices by hand; what it settled before is chosen anew.

    One invoice is named by the payment itself.
    """
    payment.settlements.all().delete()
    if len(invoices) < 2:
        return
    left, rows = payment.amount - payment.tip, []
    chosen = Invoice.objects.with_settled().filter(pk__in=[invoice.pk for invoice in invoices])
    for invoice in chosen.order_by("issued", "number"):
        part = min(left, invoice.open)
        if part > 0:
            left -= part
            on = max(payment.date, invoice.issued)
            rows.append(Settlement(payment=payment, invoice=invoice, date=on, amount=part, by_hand=True))
    Settlement.objects.bulk_create(rows)


def keep_chosen(payment: Payment, before: Mapping[str, object]) -> None:
    """Let what was chosen by hand follow the payment's date, unless it named an invoice or a visit itself."""
    chosen = payment.settlements.filter(by_hand=True)
    if before["invoice"] or before["visit"]:
        chosen.delete()  # what it names now is chosen anew
        return
    for row in chosen.select_related("invoice"):
        row.date = max(payment.date, row.invoice.issued)
        row.save(update_fields=["date"])


@transaction.atomic
def delete_payment(payment: Payment, *, by: str, at: datetime) -> None:
    """Delete a payment, keep what it was in its history, and settle the client's invoices anew.

    Raises RuleBroken "day_closed" where its date is closed for good, "payment_bounced", "payment_deposited"
    and "payment_deleted".
    """
    profile = Profile.locked()
    payment = still_there(payment)
    profile.check_open(payment.date)
    check_not_bounced(payment)
    check_not_deposited(payment)
    keep_history(payment, facts_of(payment), PaymentChange.What.DELETED, by, at)
    payment.settlements.all().delete()
    keep_card_fee(payment, Decimal(0))
    payment.delete()
    resettle_client(payment.client)


def still_there(payment: Payment) -> Payment:
    """Return the payment as it is now. Raises RuleBroken("payment_deleted")."""
    row = Payment.objects.select_for_update().filter(pk=payment.pk).first()
    if row is None:
        raise payment_deleted()
    return row


def facts_of(payment: Payment) -> dict[str, object]:
    """Return what is written down of a payment, by field, and which of several invoices it names."""
    facts = {name: getattr(payment, name) for name in PAYMENT_FIELDS}
    return facts | {"invoices": in_numbers(chosen_invoices(payment))}


def chosen_invoices(payment: Payment) -> list[Invoice]:
    """Return the several invoices that a payment settles by hand; none where it names one itself."""
    if payment.amount < 0 or payment.invoice_id or payment.visit_id:
        return []
    by_hand = payment.settlements.filter(by_hand=True)
    return list(Invoice.objects.filter(pk__in=by_hand.values("invoice")).order_by("issued", "number"))


def in_numbers(invoices: Sequence[Invoice]) -> str:
    """Return several invoices as their numbers, `A1; A2`; blank for one, which the payment names itself."""
    return "; ".join(sorted(invoice.number for invoice in invoices)) if len(invoices) > 1 else ""


def keep_history(payment: Payment, facts: dict[str, object], what: str, by: str, at: datetime) -> None:
    """Keep what a payment was."""
    PaymentChange.objects.create(payment=payment.key, what=what, at=at, by=by, **facts)
