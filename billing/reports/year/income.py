"""What was received and invoiced in a year, what is owed at its end, and the tax in both."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from django.db.models import Model, Q, Sum
from django.db.models.functions import Coalesce

from billing.models import AccountDay, CreditNote, Invoice, Payment, Settlement
from billing.rules.taxed import BilledTax, received
from practice.lib.fields import ExactField, exact
from practice.lib.periods import Period
from practice.models import Client

ZERO = Decimal(0)


@dataclass(frozen=True)
class Income:
    """Received on the cash basis: payments by their date, less refunds and bounced ones, with tips.

    `refunds` holds both, `bounced` what bounced checks took back. `tax` is the part of it that is sales tax,
    by the day on which it settled an invoice; twelve amounts each, by the months of the tax year.
    """

    total: Decimal
    refunds: Decimal
    bounced: Decimal
    tips: Decimal
    by_month: tuple[Decimal, ...]
    tax_by_month: tuple[Decimal, ...]

    @property
    def tax(self) -> Decimal:
        return sum(self.tax_by_month, ZERO)

    @property
    def net_of_tax(self) -> Decimal:
        return self.total - self.tax

    @property
    def net_by_month(self) -> tuple[Decimal, ...]:
        return tuple(a - b for a, b in zip(self.by_month, self.tax_by_month, strict=True))


@dataclass(frozen=True)
class Invoiced:
    """What was invoiced, by the invoices' dates, less credit notes by theirs; `by_month` are totals with tax.

    `credited` is what the credit notes of the year took off, with tax.
    """

    net: Decimal
    tax: Decimal
    total: Decimal
    by_month: tuple[Decimal, ...]
    credited: Decimal = ZERO


@dataclass(frozen=True)
class ClientOwed:
    """What a client owed at the end of a day, and the unused credit."""

    client: Client
    open: Decimal
    credit: Decimal


@dataclass(frozen=True)
class Accounts:
    """Who owed at the end of a day, and who had credit."""

    rows: tuple[ClientOwed, ...] = field(default=())

    @property
    def receivable(self) -> Decimal:
        return sum((row.open for row in self.rows), ZERO)

    @property
    def credit(self) -> Decimal:
        return sum((row.credit for row in self.rows), ZERO)


def total(field: str, which: Q | None = None) -> Coalesce:
    """Return the sum of a column of each day, 0 where there is none; `which` rows are added up."""
    sums = Sum(field, filter=which, output_field=ExactField())
    return Coalesce(sums, exact(0), output_field=ExactField())


def by_months(rows: Iterable[tuple[date, Decimal]], months: Sequence[Period]) -> tuple[Decimal, ...]:
    """Return dated amounts added up by month; each falls in one of the months."""
    days: dict[date, Decimal] = defaultdict(Decimal)
    for day, amount in rows:
        days[day] += amount
    return tuple(sum((amount for day, amount in days.items() if day in month), ZERO) for month in months)


def income_in(year: Period, months: Sequence[Period], currency: str) -> Income:
    """Return what was received within a tax year; `months` are its months."""
    rows = Payment.objects.filter(date__gte=year.begin, date__lte=year.end).order_by().values_list("date")
    paid = list(
        rows.annotate(
            sum=total("amount"),
            tips=total("tip"),
            back=total("amount", Q(amount__lt=0)),
            bounced=total("amount", Q(bounced=True)),
        )
    )
    return Income(
        total=sum((amount for _, amount, _, _, _ in paid), ZERO),
        refunds=-sum((back for _, _, _, back, _ in paid), ZERO),
        bounced=-sum((bounced for _, _, _, _, bounced in paid), ZERO),
        tips=sum((tip for _, _, tip, _, _ in paid), ZERO),
        by_month=by_months(((day, amount) for day, amount, _, _, _ in paid), months),
        tax_by_month=by_months(tax_received(year, currency), months),
    )


def tax_received(period: Period, currency: str) -> list[tuple[date, Decimal]]:
    """Return the tax in what settled invoices on each day of a period."""
    settled = settled_of_invoices_paid_in(period)
    invoices = Invoice.objects.filter(pk__in=list(settled), tax__gt=0)
    billed = {row.pk: [BilledTax(row.issued, row.tax, row.total)] for row in invoices}
    for note in CreditNote.objects.filter(invoice__in=list(billed)).order_by("pk"):
        before = billed[note.invoice_id][-1]
        left = BilledTax(note.issued, before.tax - note.tax, before.total - note.total)
        billed[note.invoice_id].append(left)
    return [
        (row.date, row.tax)
        for key, standings in billed.items()
        for row in received(standings, settled[key], currency)
        if row.date in period
    ]


def settled_of_invoices_paid_in(period: Period) -> dict[int, list[tuple[date, Decimal]]]:
    """Return, by invoice settled or credited within a period, everything up to its end that settled it."""
    within = Settlement.objects.filter(date__gte=period.begin, date__lte=period.end)
    of_these = Q(invoice__in=within.values("invoice"))
    of_these |= Q(invoice__in=CreditNote.objects.within(period).values("invoice"))
    rows = Settlement.objects.filter(of_these, date__lte=period.end)
    table = defaultdict(list)
    for invoice, day, amount in rows.order_by("pk").values_list("invoice", "date", "amount"):
        table[invoice].append((day, amount))
    return table


def invoiced_in(year: Period, months: Sequence[Period]) -> Invoiced:
    """Return what was invoiced within a tax year, less credit notes; `months` are its months."""
    billed, credited = _sums_by_day(Invoice, year), _sums_by_day(CreditNote, year)
    rows = [*billed, *((day, -net, -tax, -total) for day, net, tax, total in credited)]
    return Invoiced(
        net=sum((net for _, net, _, _ in rows), ZERO),
        tax=sum((tax for _, _, tax, _ in rows), ZERO),
        total=sum((total for _, _, _, total in rows), ZERO),
        by_month=by_months(((day, total) for day, _, _, total in rows), months),
        credited=sum((total for _, _, _, total in credited), ZERO),
    )


def _sums_by_day(model: type[Model], year: Period) -> list[tuple[date, Decimal, Decimal, Decimal]]:
    """Return day, net, tax and total of the invoices or credit notes of each day of a year."""
    rows = model.objects.filter(issued__gte=year.begin, issued__lte=year.end).order_by()
    sums = rows.values_list("issued").annotate(nets=total("net"), taxes=total("tax"), totals=total("total"))
    return list(sums)


def accounts_on(day: date) -> Accounts:
    """Return who owed at the end of a day and who had credit, by clients in order of entry."""
    rows = AccountDay.objects.on(day).select_related("client")
    return Accounts(
        tuple(ClientOwed(row.client, row.open, row.credit) for row in rows if row.open or row.credit)
    )
