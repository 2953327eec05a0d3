"""What the page of a tax year shows, in words."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from billing.actions.closing_years import can_reopen
from billing.models import EstimatedPayment
from billing.reports.year.by_time import SetAside, months_in, set_aside
from billing.reports.year.expenses import CategoryTotal
from billing.reports.year.sums import beside_rows, material_rows, mile_rows, no_standard, received_rows
from billing.reports.year.tables import (
    contractor_table,
    equipment_table,
    expense_sums,
    month_table,
    set_aside_table,
    standard_table,
    vehicle_table,
    work_table,
    worth_table,
)
from billing.reports.year.words import Words
from billing.reports.year_end import YearEnd
from practice.lib import formats
from practice.lib.charts import ABOVE, Chart, ChartWord, columns
from practice.lib.figures import FigureTable, SumRow
from practice.lib.periods import MONTHS_A_QUARTER
from practice.lib.profile import Profile
from practice.lib.tables import ListRow

ZERO, TENTH = Decimal(0), Decimal("0.1")


@dataclass(frozen=True)
class ExpenseBar:
    """What was spent in a category, the line of the tax form, and the length of its bar, of 100."""

    total: CategoryTotal
    width: Decimal


@dataclass(frozen=True)
class YearPage:
    """A tax year as its page shows it. `now` is the day on which it is read."""

    year: YearEnd
    profile: Profile
    now: date

    @property
    def words(self) -> Words:
        return Words(self.profile)

    # What it says on top

    @property
    def label(self) -> str:
        return self.year.period.years

    @property
    def days(self) -> str:
        days = self.words.days(self.year.period)
        return f"{days}, closed" if self.is_closed else days

    @property
    def heading(self) -> str:
        issues = len(self.year.warnings)
        to_fix = f"{formats.counted(issues, 'thing')} to fix" if issues else "Nothing to fix"
        return f"You received {self.words.money(self.year.income.total)}. {to_fix}."

    @property
    def lead(self) -> str:
        if not self.is_over:
            return "The year is not over yet. These are the figures so far."
        ready = "The year is over, so you can make the pack for your tax preparer."
        return f"{ready} It lists what is still to fix." if self.year.warnings else ready

    # Money

    @property
    def received(self) -> list[SumRow]:
        return received_rows(self.year, self.words)

    @property
    def chart(self) -> Chart:
        """What was received month by month; the best month stands out."""
        months, words = months_in(self.year), self.words
        at = max(range(len(months)), key=lambda number: months[number].received)
        names = [formats.short_month(month.period.begin, words.locale) for month in months]
        drawing = columns([month.received for month in months], [name[:1] for name in names], best=at)
        most = words.amount(months[at].received)
        return Chart(
            drawing=drawing,
            title="Received by month",
            description=f"The best month was {words.month(months[at].period)}, with {most}.",
            table=month_table(self.year, words),
            folded="Month by month",
            words=(ChartWord(f"{names[at]} {most}", drawing.columns[at].middle, ABOVE, anchor(at), "say"),),
        )

    @property
    def expenses(self) -> list[ExpenseBar]:
        return with_bars(self.year.expenses.rows)

    @property
    def expense_sums(self) -> list[tuple[str, str]]:
        """The sums below the categories, the total last."""
        sums = expense_sums(self.year.expenses, self.profile.scheme)
        return [(label, self.words.amount(amount)) for label, amount in sums]

    @property
    def equipment(self) -> FigureTable:
        return equipment_table(self.year, self.words)

    @property
    def contractors(self) -> FigureTable:
        return contractor_table(self.year.expenses, self.words)

    # Materials, miles and work

    @property
    def materials(self) -> list[SumRow]:
        return material_rows(self.year, self.words)

    @property
    def miles(self) -> list[SumRow]:
        return mile_rows(self.year.miles, self.words)

    @property
    def vehicles(self) -> FigureTable:
        return vehicle_table(self.year.miles, self.year.country, self.words)

    @property
    def by_vehicle(self) -> str:
        """The heading over the vehicles, with what the tax form asks for."""
        form = self.year.country.tax_form
        return f"By vehicle, {form.miles_heading}" if form and form.miles_heading else "By vehicle"

    @property
    def standard(self) -> FigureTable:
        return standard_table(self.year.miles, self.words)

    @property
    def worth(self) -> FigureTable:
        return worth_table(self.year.miles, self.words)

    @property
    def no_standard(self) -> str:
        return no_standard(self.year.miles, self.words)

    @property
    def is_provisional(self) -> bool:
        """Whether the standard rate rests on a rate that was carried on."""
        return self.year.miles.standard.provisional

    @property
    def beside(self) -> list[SumRow]:
        return beside_rows(self.year.miles, self.words)

    @property
    def work(self) -> FigureTable:
        return work_table(self.year.work, self.words)

    # Taxes to set aside

    @property
    def quarters(self) -> list[SetAside]:
        return set_aside(self.year, self.profile.set_aside_percent)

    @property
    def set_aside(self) -> FigureTable:
        return set_aside_table(self.year, self.quarters, self.words)

    @property
    def set_aside_heading(self) -> str:
        percent = self.profile.set_aside_percent
        if percent is None:
            return "Set aside for taxes"
        return f"Set aside for taxes: {self.words.percent(percent)} of what is left"

    @property
    def estimated(self) -> list[ListRow]:
        """The estimated tax payments of the year, as rows that open."""
        return [
            ListRow(
                row.get_absolute_url(),
                f"Estimated tax, {self.words.day(row.date)}",
                row.note,
                self.words.money(row.amount),
            )
            for row in EstimatedPayment.objects.of_tax_year(self.year.year, self.year.period)
        ]

    # Closing it

    @property
    def is_over(self) -> bool:
        return self.year.period.end < self.now

    @property
    def is_closed(self) -> bool:
        return self.profile.is_closed(self.year.period.end)

    @property
    def can_reopen(self) -> bool:
        return can_reopen(self.profile) and self.profile.closed_through == self.year.period.end

    @property
    def closed_through(self) -> str:
        return self.words.long_day(self.profile.closed_through)

    @property
    def last_day(self) -> str:
        return self.words.long_day(self.year.period.end)

    @property
    def can_close_from(self) -> str:
        """The first day on which the year can be closed."""
        return self.words.long_day(self.year.period.end + timedelta(1))


def anchor(month: int) -> str:
    """Return which end of its label stands above a month, so that the label stays within the chart."""
    if month < MONTHS_A_QUARTER:
        return "start"
    return "end" if month >= 12 - MONTHS_A_QUARTER else "middle"


def with_bars(rows: Sequence[CategoryTotal]) -> list[ExpenseBar]:
    """Return what was spent by category with the length of each bar; the longest is 100."""
    most = max((row.amount for row in rows), default=ZERO)

    def width(amount: Decimal) -> Decimal:
        return (max(amount, ZERO) * 100 / most).quantize(TENTH) if most > 0 else ZERO

    return [ExpenseBar(row, width(row.amount)) for row in rows]
