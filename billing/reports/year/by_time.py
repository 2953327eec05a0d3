"""A year month by month and quarter by quarter, and what to set aside for taxes."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal, localcontext

from billing.models import EstimatedPayment
from billing.reports.year_end import YearEnd
from practice.lib.money import PRECISION, round_money
from practice.lib.periods import Period, quarters_of

ZERO = Decimal(0)


@dataclass(frozen=True)
class PeriodTotals:
    """What was received, invoiced and spent in a month or a quarter. `tax` is the sales tax received."""

    period: Period
    received: Decimal
    tax: Decimal
    invoiced: Decimal
    spent: Decimal

    @property
    def net(self) -> Decimal:
        return self.received - self.tax


def months_in(year: YearEnd) -> list[PeriodTotals]:
    """Return the twelve months of a year."""
    columns = (
        year.income.by_month,
        year.income.tax_by_month,
        year.invoiced.by_month,
        year.expenses.by_month,
    )
    return [PeriodTotals(*row) for row in zip(year.months, *columns, strict=True)]


def quarters_in(year: YearEnd) -> list[PeriodTotals]:
    """Return the four quarters of a year, as the country's tax authority has them."""
    months = months_in(year)
    return [
        together(quarter, [month for month in months if month.period.begin in quarter])
        for quarter in quarters_of(year.period, year.country.months_a_quarter)
    ]


def together(period: Period, months: Sequence[PeriodTotals]) -> PeriodTotals:
    """Return the totals of months added up."""
    names = ("received", "tax", "invoiced", "spent")
    return PeriodTotals(period, *(sum((getattr(row, name) for row in months), ZERO) for name in names))


@dataclass(frozen=True)
class SetAside:
    """What is left of a quarter's net received after expenses, the part to set aside, and the tax paid."""

    quarter: PeriodTotals
    left: Decimal
    aside: Decimal
    paid: Decimal


def set_aside(year: YearEnd, percent: Decimal | None) -> list[SetAside]:
    """Return what to set aside of each quarter: a percentage that the farrier chose; no tax is worked out.

    Nothing is set aside of a quarter in which more went out than came in. Tax for the year that was paid
    before it began or after it ended stands in its first or last quarter.
    """
    begin, end = year.period.begin, year.period.end
    payments = [
        (min(max(row.date, begin), end), row.amount)
        for row in EstimatedPayment.objects.of_tax_year(year.year, year.period)
    ]
    rows = []
    for quarter in quarters_in(year):
        left = quarter.net - quarter.spent
        paid = sum((amount for day, amount in payments if day in quarter.period), ZERO)
        rows.append(SetAside(quarter, left, part_aside(left, percent or ZERO, year.currency), paid))
    return rows


def part_aside(left: Decimal, percent: Decimal, currency: str) -> Decimal:
    """Return that percentage of what is left, rounded once; nothing below zero."""
    with localcontext(prec=PRECISION):
        return round_money(max(left, ZERO) * percent / 100, currency)
