"""The year's totals, as they go to the tax preparer. Nothing here advises, and no treatment is chosen."""

from dataclasses import dataclass
from datetime import MAXYEAR, MINYEAR, date

from billing.reports.year.expenses import Expenses, expenses_in
from billing.reports.year.income import Accounts, Income, Invoiced, accounts_on, income_in, invoiced_in
from billing.reports.year.materials import Materials, materials_in
from billing.reports.year.miles import Miles, miles_in
from billing.reports.year.warnings import YearIssue, YearWarnings
from billing.reports.year.work import WorkDone, work_in
from practice.lib.countries import Country
from practice.lib.errors import RuleBroken
from practice.lib.periods import Period, months_of, tax_year
from practice.lib.profile import Profile

DEFERS = "Rules change. A licensed tax preparer decides."


@dataclass(frozen=True)
class YearEnd:
    """The totals of the tax year that begins in `year`. Amounts in `currency`, distances in `miles.unit`.

    Materials as inventory or as supplies, miles by the standard rate or by actual costs: both are
    shown, each is to be used only once, and the tax preparer chooses.
    """

    year: int
    period: Period
    country: Country
    currency: str
    income: Income
    invoiced: Invoiced
    accounts: Accounts
    materials: Materials
    expenses: Expenses
    miles: Miles
    work: WorkDone
    warnings: tuple[YearIssue, ...]

    @property
    def months(self) -> list[Period]:
        return months_of(self.period)


def year_end(year: int, profile: Profile, today: date) -> YearEnd:
    """Return the totals of the tax year that begins in `year`, as the book stands; reads that year only.

    `today` tells planned visits that have passed from those to come. Raises RuleBroken `no_such_year`
    for a year that no calendar has.
    """
    if not MINYEAR <= year < MAXYEAR:
        raise RuleBroken("no_such_year", f"{year} is not a year. Type one such as 2026.")
    period = tax_year(year, profile.country)
    months = months_of(period)
    expenses = expenses_in(period, profile.home_country)
    miles = miles_in(period, profile, expenses.vehicle_costs, expenses.parking_and_tolls)
    accounts = accounts_on(period.end)
    return YearEnd(
        year=year,
        period=period,
        country=profile.home_country,
        currency=profile.currency,
        income=income_in(period, months, profile.currency),
        invoiced=invoiced_in(period, months),
        accounts=accounts,
        materials=materials_in(period, profile.currency),
        expenses=expenses,
        miles=miles,
        work=work_in(period, profile.currency),
        warnings=YearWarnings(period, profile, today).all(miles, accounts, expenses),
    )
