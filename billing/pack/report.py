"""The year on paper: a few pages that a farrier and a tax preparer can read at a glance."""

from dataclasses import dataclass
from datetime import date

from django.utils.text import capfirst

from billing.pack.late import ChangedFigure
from billing.reports.sales_tax import SalesTax, sales_tax
from billing.reports.year.by_time import months_in, set_aside
from billing.reports.year.sums import beside_rows, material_rows, no_standard
from billing.reports.year.tables import (
    contractor_table,
    equipment_table,
    estimated_table,
    expense_table,
    month_table,
    quarter_table,
    set_aside_table,
    standard_table,
    vehicle_table,
    work_table,
    worth_table,
)
from billing.reports.year.words import Words
from billing.reports.year_end import YearEnd
from practice.lib import formats
from practice.lib.charts import BarChart, columns
from practice.lib.figures import FigureRow, FigureTable, SumRow
from practice.lib.letterhead import Letterhead, letterhead
from practice.lib.pdf import render_pdf
from practice.lib.profile import Profile

# The chart's view box: as wide as the text of the page.
CHART_SIZE = (504, 210)


@dataclass(frozen=True, kw_only=True)
class YearPaper(Letterhead):
    """The year as it is printed, in words."""

    year: YearEnd
    title: str
    made: str
    figures: list[tuple[str, str]]
    chart: BarChart
    quarters: FigureTable
    months: FigureTable
    received: str
    to_fix: str
    materials: list[SumRow]
    material_costs: list[SumRow]
    expenses: FigureTable
    contractors: FigureTable
    equipment: FigureTable
    vehicles: FigureTable
    standard_heading: str
    standard: FigureTable
    no_standard: str
    worth: FigureTable
    beside: list[SumRow]
    home: str
    taxes: FigureTable
    seen: str
    work: FigureTable
    by_quarter: FigureTable
    estimated: FigureTable
    late: FigureTable


def year_paper(year: YearEnd, late: list[ChangedFigure], profile: Profile, today: date) -> YearPaper:
    """Return the year as its paper shows it; `late` are the figures that earlier packs gave differently."""
    words, months, miles = Words(profile), months_in(year), year.miles
    names = [formats.short_month(month.period.begin, words.locale) for month in months]
    return YearPaper(
        **letterhead(profile, words.locale),
        year=year,
        title=f"Year-end report {year.period.years}",
        made=made(year, late, words, today),
        figures=[
            ("Received", words.amount(year.income.total)),
            (f"Net of {year.country.sales_tax}", words.amount(year.income.net_of_tax)),
            ("Invoiced", words.amount(year.invoiced.total)),
            ("Owed by clients at year end", words.amount(year.accounts.receivable)),
        ],
        chart=columns([month.received for month in months], names, *CHART_SIZE),
        quarters=quarter_table(year, words),
        months=month_table(year, words, with_quarters=False),
        received=received(year, words),
        to_fix=to_fix(len(year.warnings)),
        materials=material_rows(year, words),
        material_costs=material_costs(year, words),
        expenses=expense_table(year.expenses, year.country, words),
        contractors=contractor_table(year.expenses, words),
        equipment=equipment_table(year, words),
        vehicles=vehicle_table(miles, year.country, words, on_paper=True),
        standard_heading=profile.scheme.label,
        standard=standard_table(miles, words, with_tolls=True),
        no_standard=no_standard(miles, words),
        worth=worth_table(miles, words),
        beside=beside_rows(miles, words),
        home=profile.home_in_words,
        taxes=tax_table(sales_tax(year.period, profile), words),
        seen=seen(year),
        work=work_table(year.work, words),
        by_quarter=set_aside_table(year, set_aside(year, None), words, on_paper=True),
        estimated=estimated_table(year, words),
        late=late_table(late, words),
    )


def made(year: YearEnd, late: list[ChangedFigure], words: Words, today: date) -> str:
    """Return which days and currency the report is of, when it was made, and whether earlier ones differ."""
    text = f"{words.days(year.period)}, in {year.currency}. Made on {words.long_day(today)}."
    return f"{text} Some figures differ from earlier packs: see the last page." if late else text


def received(year: YearEnd, words: Words) -> str:
    """Return the sentences under what was received and invoiced."""
    income, invoiced = year.income, year.invoiced
    credited = f", less credit notes of {words.amount(invoiced.credited)}" if invoiced.credited else ""
    return (
        f"Received is what clients paid, by the date of each payment. It includes {words.amount(income.tips)}"
        f" in tips; refunds of {words.amount(income.refunds - income.bounced)} and bounced checks of"
        f" {words.amount(income.bounced)} are taken off."
        f" Net is without {year.country.sales_tax}. Invoiced is {words.amount(invoiced.net)} net plus"
        f" {words.amount(invoiced.tax)} {year.country.sales_tax}{credited}."
        f" At year end clients had {words.amount(year.accounts.credit)} of unused credit."
    )


def to_fix(issues: int) -> str:
    """Return how many things were still to fix; blank where there are none."""
    if not issues:
        return ""
    be, they = ("was", "It is") if issues == 1 else ("were", "They are")
    things = formats.counted(issues, "thing")
    return f"{things} {be} still to fix when this report was made. {they} listed at the end."


def material_costs(year: YearEnd, words: Words) -> list[SumRow]:
    """Return what materials cost, looked at in three ways, and what has no payment date."""
    materials = year.materials
    rows = [
        ("Purchased during the year", materials.purchased),
        ("Paid for during the year", materials.paid),
        ("Used during the year", materials.used),
    ]
    if materials.not_said:
        rows.append(("Delivered, no payment date", materials.not_said))
    return [SumRow("", label, words.amount(value)) for label, value in rows]


def seen(year: YearEnd) -> str:
    visits, horses = year.work.visits, year.work.horses_seen
    return f"{formats.counted(visits, 'visit')}, {formats.counted(horses, 'horse')} seen."


def tax_table(taxes: SalesTax, words: Words) -> FigureTable:
    """Return the sales tax by name, area and rate."""
    return FigureTable(
        ("Tax and area", "Rate", "Taxable", "Exempt", "Tax invoiced", "Tax received"),
        tuple(
            FigureRow(
                row.label,
                (
                    "" if row.rate is None else words.percent(row.rate),
                    *words.amounts(row.invoiced.taxable, row.invoiced.exempt),
                    *words.amounts(row.invoiced.tax, row.received.tax),
                ),
            )
            for row in taxes.rows
        ),
    )


def late_table(late: list[ChangedFigure], words: Words) -> FigureTable:
    """Return what earlier packs gave differently."""
    return FigureTable(
        ("Figure", "Then", "Now"),
        tuple(
            FigureRow(
                capfirst(f"{row.year}: {row.what}"),
                (row.then, row.now),
                (f"pack of {words.day(row.made_on)}",),
            )
            for row in late
        ),
    )


def report_pdf(year: YearEnd, late: list[ChangedFigure], profile: Profile, today: date) -> bytes:
    """Return the year's report as a PDF. Raises PdfUnavailable where this machine makes none."""
    paper = year_paper(year, late, profile, today)
    return render_pdf("pdf/year_end.html", {"paper": paper, "profile": profile})
