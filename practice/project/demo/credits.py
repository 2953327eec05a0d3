"""What the demo practice credited: a favor to a client, a mistake in a price, and a bill that nobody pays."""

from datetime import date, timedelta
from decimal import Decimal

from billing.actions.crediting import issue_credit_note
from billing.models import CreditNote, Invoice

LONG_OVERDUE = timedelta(60)


def credit_some(today: date) -> list[CreditNote]:
    """Issue a few credit notes, in order of date; none of them frees a stop."""
    invoices = list(Invoice.objects.with_settled().select_related("client").order_by("issued", "pk"))
    old = [row for row in invoices if row.open > 0 and row.due + LONG_OVERDUE < today]
    given_up = {row.client_id for row in old[:1]}
    others = [row for row in invoices if row.client_id not in given_up]
    wanted = [
        (others[len(others) // 3], 9, {1: Decimal("10.00")}, "goodwill", "We came an hour late."),
        (others[len(others) * 2 // 3], 4, {1: Decimal("5.00")}, "correction", "The old price holds."),
    ]
    if old:
        wanted.append((old[0], 90, None, "bad_debt", ""))
    dated = [(min(row.issued + timedelta(days), today), row, *rest) for row, days, *rest in wanted]
    return [
        issue_credit_note(invoice, on, amounts, reason=reason, note=note)
        for on, invoice, amounts, reason, note in sorted(dated, key=lambda entry: entry[0])
    ]
