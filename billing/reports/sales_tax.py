"""Sales tax of any period by area, name and rate: billed in it, and in what was received in it."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from billing.models import CreditNote, Invoice, InvoiceLine
from billing.reports.credits import credits_of
from billing.reports.year.income import settled_of_invoices_paid_in
from billing.rules.taxed import BilledTax, RateTax, empty, plus, received
from billing.rules.totals import Tax, read_taxes, totals
from practice.lib.money import split
from practice.lib.periods import Period
from practice.lib.profile import Profile

ZERO = Decimal(0)
Key = tuple[str, str, Decimal | None]
TaxedLine = tuple[Decimal, tuple[Tax, ...]]


@dataclass(frozen=True)
class AreaTax:
    """The tax of one area, name and rate in a period; all blank: invoices without lines."""

    area: str
    name: str
    rate: Decimal | None
    invoiced: RateTax
    received: RateTax

    @property
    def label(self) -> str:
        """`County, Tarn`, or what invoices without lines are called."""
        return ", ".join(filter(None, [self.name, self.area])) or "Invoices without lines"


@dataclass(frozen=True)
class SalesTax:
    """Sales tax of a period; amounts in the practice's currency.

    `exempt` is what would have been taxed but for the client. What was received adds up to the tax
    that the year calls collected.
    """

    period: Period
    rows: tuple[AreaTax, ...]

    @property
    def charged(self) -> Decimal:
        return sum((row.invoiced.tax for row in self.rows), ZERO)

    @property
    def collected(self) -> Decimal:
        return sum((row.received.tax for row in self.rows), ZERO)


def sales_tax(period: Period, profile: Profile) -> SalesTax:
    """Return the sales tax of a period, less credit notes, by area, then name, then rate."""
    settled = settled_of_invoices_paid_in(period)
    issued = Invoice.objects.within(period)
    invoices = {invoice.pk: invoice for invoice in issued}
    billed_keys = set(invoices)
    invoices |= Invoice.objects.in_bulk(set(settled) - billed_keys)
    rates = rates_of_invoices(invoices, profile.currency)
    notes = CreditNote.objects.within(period) | CreditNote.objects.filter(invoice__in=list(settled))
    credited = credits_of(Invoice.objects.filter(pk__in=notes.values("invoice")))
    charged, collected = TaxSums(), TaxSums()
    for key in billed_keys:
        charged.add(rates[key])
    for credits in credited.values():
        for note, _ in credits.notes:
            if note.issued in period:
                charged.add(credits.rates_of_note(note), sign=-1)
    for key, rows in settled.items():
        invoice = invoices[key]
        billed = [BilledTax(invoice.issued, invoice.tax, invoice.total, rates[key])]
        if key in credited:
            billed = credited[key].standings
        for day in received(billed, rows, profile.currency) if billed[0].rates else ():
            if day.date in period:
                collected.add(day.rates)
    keys = sorted({*charged.rows, *collected.rows}, key=_order)
    return SalesTax(period, tuple(AreaTax(*key, charged.of(key), collected.of(key)) for key in keys))


def _order(key: Key) -> tuple:
    area, name, rate = key
    return rate is None, area, name, rate or ZERO


class TaxSums:
    """Rows of tax added up by area, name and rate."""

    def __init__(self):
        self.rows: dict[Key, RateTax] = {}

    def add(self, rates: Iterable[RateTax], sign: int = 1) -> None:
        for rated in rates:
            key = rated.area, rated.name, rated.rate
            self.rows[key] = plus(self.of(key), rated, sign)

    def of(self, key: Key) -> RateTax:
        return self.rows.get(key) or empty(RateTax(*key))


def rates_of_invoices(invoices: dict[int, Invoice], currency: str) -> dict[int, tuple[RateTax, ...]]:
    """Return the tax rows of invoices by their key; none where nothing on one would be taxed."""
    lines: dict[int, list[TaxedLine]] = defaultdict(list)
    written = InvoiceLine.objects.filter(invoice__in=list(invoices)).order_by("pk")
    for row in written.values_list("invoice", "net", "tax_names", "tax_rates", "tax_areas"):
        lines[row[0]].append((row[1], read_taxes(*row[2:])))
    return {key: rates_of(invoice, lines.get(key, ()), currency) for key, invoice in invoices.items()}


def rates_of(invoice: Invoice, lines: Sequence[TaxedLine], currency: str) -> tuple[RateTax, ...]:
    """Return the tax rows of one invoice: one for each area, name and rate, which add up to its tax."""
    rows: dict[Key, RateTax] = {}
    worked = totals(lines, currency)
    exempt = bool(worked.tax) and not invoice.tax
    for row in worked.taxes:
        key = row.area, row.name, row.rate
        nets = (ZERO, row.base) if exempt else (row.base, ZERO)
        rows[key] = plus(rows.get(key) or RateTax(*key), RateTax(*key, *nets, ZERO if exempt else row.tax))
    if exempt or invoice.tax == worked.tax:
        return tuple(rows.values())
    if not worked.tax:
        return (RateTax("", "", None, invoice.net, ZERO, invoice.tax),)
    # An invoice brought in with a tax of its own: what its lines say is brought to that.
    parts = split(invoice.tax, [rated.tax for rated in rows.values()], currency)
    return tuple(
        RateTax(rated.area, rated.name, rated.rate, rated.taxable, rated.exempt, part)
        for rated, part in zip(rows.values(), parts, strict=True)
    )
