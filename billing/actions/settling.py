"""What payments settle: worked out by date, and saved where it changed."""

from collections import Counter
from collections.abc import Iterable
from decimal import Decimal

from django.db import transaction
from django.db.models import QuerySet

from billing.actions.accounts import keep_account_days
from billing.models import CreditNote, Invoice, InvoiceLine, Payment, Settlement
from billing.rules.account_rows import Bill, CreditNoteValue, Paid
from billing.rules.settling import Outcome, settle
from practice.lib.profile import Profile
from practice.models import Client


def account_of(
    client: Client, more: Iterable[Bill] = (), visits: Iterable[int] = (), *, anew: bool = False
) -> Outcome:
    """Return how a client's payments settle the client's invoices, worked out by date.

    `more` are invoices about to be issued; `visits` those that the first of them holds. `anew`: also on days
    that are closed for good, whatever is recorded there.
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
        Paid(
            row.pk,
            row.pk,
            row.date,
            row.amount,
            row.tip,
            row.invoice_id or holds.get(row.visit_id),
            row.reverses_id,
        )
        for row in payments
    ]
    recorded = [row.as_settled() for row in settlements_of(client).order_by("date", "pk")]
    named = {row.key for row in paid if row.invoice}
    chosen = [row for row in recorded if row.by_hand and row.amount > 0 and row.payment not in named]
    closed = None if anew else Profile.current().closed_through
    while True:  # what was chosen and did not fit is not chosen any more: a second look finds the same
        outcome = settle([*bills, *more], paid, credits, closed, recorded, chosen)
        fitted = [row for row in outcome.rows if row.by_hand and row.amount > 0 and row.payment not in named]
        if sum((row.amount for row in fitted), Decimal(0)) == sum((row.amount for row in chosen), Decimal(0)):
            return outcome
        chosen = fitted


def settlements_of(client: Client) -> QuerySet[Settlement]:
    """Return what is recorded of what a client's payments settled."""
    return Settlement.objects.filter(payment__client=client)


def credit_left(client: Client) -> Decimal:
    """Return the client's credit: what was paid and has not settled anything yet."""
    return sum(account_of(client).credit.values(), Decimal(0))


def is_settled_as_worked_out(client: Client, *, anew: bool = False) -> bool:
    """Whether the recorded settlements are those that come of working them out, as `account_of` does."""
    recorded = Counter(row.as_settled() for row in settlements_of(client))
    return recorded == Counter(account_of(client, anew=anew).rows)


@transaction.atomic
def resettle_client(client: Client) -> None:
    """Work the client's settlements out anew, back to the last closed day, and save them.

    Rows that stay the same are not touched.
    """
    outcome = account_of(client)
    wanted = Counter(outcome.rows)
    stale = []
    for row in settlements_of(client).order_by("pk"):
        key = row.as_settled()
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
