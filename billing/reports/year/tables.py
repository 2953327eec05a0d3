"""The year's tables in words, for its page and its report on paper."""

from collections.abc import Iterable
from decimal import Decimal

from django.utils.text import capfirst

from billing.models import Equipment, EstimatedPayment
from billing.reports.year.by_time import PeriodTotals, SetAside, months_in, quarters_in
from billing.reports.year.expenses import Expenses
from billing.reports.year.miles import Miles
from billing.reports.year.words import Words
from billing.reports.year.work import WorkDone
from billing.reports.year_end import YearEnd
from billing.rules.mileage import Actual, StandardRow
from billing.rules.vehicle_costs import OF_A_VEHICLE, VEHICLE_COSTS
from practice.lib import formats
from practice.lib.countries import Country, MileageScheme
from practice.lib.figures import FigureRow, FigureTable
from practice.reports.driven import VehicleDistances


def _received_row(name: str, totals: PeriodTotals, words: Words) -> FigureRow:
    return FigureRow(name, words.amounts(totals.received, totals.tax, totals.net, totals.invoiced))


def _received_heads(first: str, country: Country) -> tuple[str, ...]:
    return (first, "Received", capfirst(country.sales_tax), "Net", "Invoiced")


def _whole_year(year: YearEnd, words: Words) -> FigureRow:
    income = year.income
    return FigureRow(
        year.period.years,
        words.amounts(income.total, income.tax, income.net_of_tax, year.invoiced.total),
    )


def month_table(year: YearEnd, words: Words, with_quarters: bool = True) -> FigureTable:
    """Return what was received and invoiced month by month, with the quarters and the year as sums."""
    quarters = quarters_in(year) if with_quarters else []
    return FigureTable(
        _received_heads("Month", year.country),
        tuple(_received_row(words.short_month(month.period), month, words) for month in months_in(year)),
        (
            *(
                _received_row(words.short_quarter(number, quarter.period), quarter, words)
                for number, quarter in enumerate(quarters, start=1)
            ),
            _whole_year(year, words),
        ),
    )


def quarter_table(year: YearEnd, words: Words) -> FigureTable:
    """Return what was received and invoiced quarter by quarter, with the year as its sum."""
    return FigureTable(
        _received_heads("Quarter", year.country),
        tuple(_received_row(words.quarter(row.period), row, words) for row in quarters_in(year)),
        (_whole_year(year, words),),
    )


def expense_table(expenses: Expenses, country: Country, words: Words) -> FigureTable:
    """Return what was spent by category, with the line of the tax form where the country has one."""
    form = country.tax_form
    rows = tuple(
        FigureRow(
            capfirst(row.category),
            ((row.line,) if form else ()) + words.amounts(row.amount),
        )
        for row in expenses.rows
    )
    heads = ("Category", form.line_heading, "Amount") if form else ("Category", "Amount")
    blank = ("",) if form else ()
    sums = tuple(
        FigureRow(label, blank + words.amounts(amount))
        for label, amount in expense_sums(expenses, words.profile.scheme)
    )
    return FigureTable(heads, rows, sums)


def expense_sums(expenses: Expenses, scheme: MileageScheme) -> list[tuple[str, Decimal]]:
    """Return what can stand beside the standard rate, what counts only by actual costs, and the total."""
    only = expenses.of(VEHICLE_COSTS if scheme.parking_on_top else OF_A_VEHICLE)
    total = [("Total, without materials", expenses.total)]
    if not only:
        return total
    names = ("Beside the standard rate", "Only by actual vehicle costs")
    beside, apart = names if scheme.unit else ("Other than vehicles", "Vehicle costs")
    return [(beside, expenses.total - only), (apart, only), *total]


def contractor_table(expenses: Expenses, words: Words) -> FigureTable:
    """Return what each contractor was paid, with the notes that may say how."""
    return FigureTable(
        ("Paid to", "Payments", "Total"),
        tuple(
            FigureRow(row.vendor or "Not recorded", (f"{row.payments}", words.amount(row.amount)), row.notes)
            for row in expenses.contractors
        ),
    )


def vehicle_table(miles: Miles, country: Country, words: Words, on_paper: bool = False) -> FigureTable:
    """Return each vehicle's distances; on paper with the lines of the tax form, and with their sums."""
    form = country.tax_form if on_paper else None
    lines = (form.business_line, form.commuting_line, form.other_line) if form else ("", "", "")
    kinds = ("Business", "Commuting", capfirst(country.personal_distance))
    total = FigureRow(
        f"Total, in {words.profile.unit.many}",
        (*words.tenths(miles.business, miles.commuting, miles.personal), words.not_logged(miles), ""),
    )
    return FigureTable(
        (
            "Vehicle",
            *(f"{kind}, {line}" if line else kind for kind, line in zip(kinds, lines, strict=True)),
            "Not logged",
            "Odometer",
        ),
        tuple(_vehicle_row(driven, words) for driven in miles.driven),
        (total,) if on_paper else (),
    )


def _vehicle_row(driven: VehicleDistances, words: Words) -> FigureRow:
    odometer = formats.span(driven.first_odometer, driven.last_odometer, words.locale)
    distances = (
        *words.tenths(driven.business, driven.commuting, driven.personal),
        words.not_logged(driven),
    )
    return FigureRow(str(driven.vehicle), (*distances, odometer or "not read"))


def worth_table(miles: Miles, words: Words) -> FigureTable:
    """Return what each vehicle comes to by the standard rate and by actual costs, side by side.

    The standard rate is left out where none is shown; the sums stand where there are several vehicles.
    """
    has_rate = bool(miles.standard.rows)

    def row(name: str, standard: Decimal | None, actual: Actual) -> FigureRow:
        share = words.share(actual.business_share)
        rate = words.amounts(standard) if has_rate else ()
        return FigureRow(name, (*rate, words.amount(actual.costs), share, words.amount(actual.amount)))

    heads = ("Standard rate",) if has_rate else ()
    total = row("Total", miles.standard.total, miles.actual)
    return FigureTable(
        ("Vehicle", *heads, "Vehicle costs", "Business share", "Actual costs"),
        tuple(row(str(each.driven.vehicle), each.standard, each.actual) for each in miles.vehicles),
        (total,) if len(miles.vehicles) > 1 else (),
    )


def standard_table(miles: Miles, words: Words, with_tolls: bool = False) -> FigureTable:
    """Return the standard rate period by period; `with_tolls` adds parking and tolls, and the total.

    They are added where the scheme has them on top.
    """
    rows = [_standard_row(row, words) for row in miles.standard.rows]
    sums = ()
    if with_tolls and words.profile.scheme.parking_on_top:
        rows.append(FigureRow("Parking and tolls, on top", ("", "", words.amount(miles.parking_and_tolls))))
        total = miles.by_standard_rate(words.profile.scheme)
        sums = (FigureRow("By the standard rate", ("", "", words.amount(total))),)
    return FigureTable(("Dates", "Distance", "Rate", "Amount"), tuple(rows), sums)


def _standard_row(row: StandardRow, words: Words) -> FigureRow:
    above = f", above {words.quantity(row.tier_from)}" if row.tier_from else ""
    notes = [row.vehicle or "", "provisional: the last known rate" if row.carried else ""]
    return FigureRow(
        f"{words.day(row.begin)} to {words.day(row.end)}{above}",
        (*words.tenths(row.distance), words.price(row.rate), words.amount(row.amount)),
        tuple(filter(None, notes)),
    )


def work_table(work: WorkDone, words: Words) -> FigureTable:
    """Return how often each service was done, and its net before sharing and tax."""
    return FigureTable(
        ("Service", "Times", "Net"),
        tuple(
            FigureRow(str(row.service), (words.quantity(row.count), words.amount(row.net)))
            for row in work.by_service
        ),
    )


def set_aside_table(
    year: YearEnd, rows: Iterable[SetAside], words: Words, on_paper: bool = False
) -> FigureTable:
    """Return what is left of each quarter, what to set aside of it, and the estimated tax paid in it.

    What to set aside is left out where the farrier has not chosen a percentage, and on paper.
    """
    rows = list(rows)
    chosen = words.profile.set_aside_percent is not None and not on_paper

    def cells(net, spent, left, aside, paid) -> tuple[str, ...]:
        return words.amounts(net, spent, left, *((aside,) if chosen else ()), paid)

    total = cells(
        year.income.net_of_tax,
        year.expenses.total,
        *(sum(getattr(row, name) for row in rows) for name in ("left", "aside", "paid")),
    )
    return FigureTable(
        (
            "Quarter",
            "Net received",
            "Expenses",
            "Left",
            *(("Set aside",) if chosen else ()),
            "Tax paid",
        ),
        tuple(
            FigureRow(
                words.quarter(row.quarter.period),
                cells(row.quarter.net, row.quarter.spent, row.left, row.aside, row.paid),
            )
            for row in rows
        ),
        (FigureRow(year.period.years, total),),
    )


def estimated_table(year: YearEnd, words: Words) -> FigureTable:
    """Return the estimated tax that was paid for a year, by the day it was paid."""
    return FigureTable(
        ("Paid on", "Amount"),
        tuple(
            FigureRow(words.day(row.date), words.amounts(row.amount), tuple(filter(None, [row.note])))
            for row in EstimatedPayment.objects.of_tax_year(year.year, year.period)
        ),
    )


def equipment_table(year: YearEnd, words: Words) -> FigureTable:
    """Return the tools and equipment that came into use or went in a year, by the day they came."""
    heads = ("Tool or equipment", "In use since", "Cost", "Sold or retired", "Sold for")

    def row(tool: Equipment) -> FigureRow:
        came = words.day(tool.placed_in_service)
        gone = words.day(tool.disposed_on) if tool.disposed_on else ""
        brought = "" if tool.disposed_for is None else words.amount(tool.disposed_for)
        return FigureRow(tool.name, (came, words.amount(tool.cost), gone, brought))

    return FigureTable(heads, tuple(row(tool) for tool in Equipment.objects.bought_or_sold(year.period)))
