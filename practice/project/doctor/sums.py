"""Sums against facts: what is stored beside them is worked out anew and compared."""

from collections import Counter, defaultdict
from collections.abc import Iterator
from decimal import Decimal

from django.db.models import F

from billing.actions.accounts import account_standings
from billing.actions.settling import is_settled_as_worked_out
from billing.models import AccountDay, CreditNote, CreditNoteLine, Invoice, InvoiceLine
from billing.rules.totals import read_taxes, totals
from practice.lib.profile import Profile
from practice.models import Client
from practice.project.doctor.faults import RESTORE, NamedFault, some_of
from stock.actions.valuing import is_valued_as_stored
from stock.models import Item

PDF_SAYS = "Compare them with their PDFs, which were made when they were issued."
SETTLE_ANEW = "Open a payment of each, change its note, and save: what was paid is then worked out again."
VALUE_ANEW = (
    "Make a backup, export the book, delete stock_movements.csv from the folder, and import the folder into"
    " an empty book: the ledger is then worked out again."
)


def look_at_invoices() -> Iterator[NamedFault]:
    """Find invoices whose sums are not those of their lines. One that was imported without lines has none."""
    lines = defaultdict(list)
    rows = InvoiceLine.objects.filter(invoice__isnull=False).order_by("invoice", "pk")
    for invoice, net, *taxes in rows.values_list(
        "invoice", "net", "tax_names", "tax_rates", "tax_areas"
    ).iterator():
        lines[invoice].append((net, *taxes))
    currency, wrong = Profile.current().currency, []
    for pk, number, net, tax, total in Invoice.objects.values_list("pk", "number", "net", "tax", "total"):
        if pk in lines and not _adds_up(lines[pk], currency, net, tax) or total != net + tax:
            wrong.append(number)
    if wrong:
        yield NamedFault(
            "invoice_sums",
            f"The sums of these invoices do not match their lines: {some_of(wrong)}.",
            f"{PDF_SAYS} {RESTORE}",
        )


def _adds_up(lines: list[tuple], currency: str, net: Decimal, tax: Decimal) -> bool:
    """Whether lines come to this; an exempt client pays no tax on them."""
    try:
        worked = totals([(amount, read_taxes(*taxes)) for amount, *taxes in lines], currency)
    except ValueError:
        return False
    return net == worked.net and tax in (worked.tax, 0)


def look_at_credit_notes() -> Iterator[NamedFault]:
    """Find credit notes whose sum is not that of their lines, and invoices credited beyond their total."""
    lines: Counter = Counter()
    for note, net in CreditNoteLine.objects.values_list("credit_note", "net"):
        lines[note] += net
    notes = CreditNote.objects.values_list("pk", "number", "net")
    wrong = [number for pk, number, net in notes if pk in lines and lines[pk] != net]
    if wrong:
        yield NamedFault(
            "credit_note_sums",
            f"The sums of these credit notes do not match their lines: {some_of(wrong)}.",
            f"{PDF_SAYS} {RESTORE}",
        )
    credited = Invoice.objects.with_settled().filter(credited__gt=F("total"))
    if too_much := list(credited.values_list("number", flat=True)):
        yield NamedFault(
            "credited_too_much",
            f"More is credited than these invoices come to: {some_of(too_much)}.",
            f"{PDF_SAYS} {RESTORE}",
        )


def look_at_accounts() -> Iterator[NamedFault]:
    """Find clients whose settlements, or what was open each day, are not what the facts come to."""
    settled, days = [], []
    for client in Client.objects.order_by("pk"):
        if not is_settled_as_worked_out(client):
            settled.append(client)
        kept = AccountDay.objects.filter(client=client).values_list("date", "open", "credit")
        if Counter(kept) != Counter((row.date, row.open, row.credit) for row in account_standings(client)):
            days.append(client)
    if settled:
        what = f"The payments of these clients are not applied as they should be: {some_of(settled)}."
        yield NamedFault("settlements", what, SETTLE_ANEW)
    if days:
        what = f"What these clients owed on some days does not match their invoices: {some_of(days)}."
        yield NamedFault("account_days", what, SETTLE_ANEW)


def look_at_ledgers() -> Iterator[NamedFault]:
    """Find items whose costs and quantities are not what their facts come to."""
    wrong = [item for item in Item.objects.order_by("pk") if not is_valued_as_stored(item.pk)]
    if wrong:
        yield NamedFault(
            "ledger",
            f"The ledger of these items does not match what was recorded: {some_of(wrong)}.",
            VALUE_ANEW,
        )
