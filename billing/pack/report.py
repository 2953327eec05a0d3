"""The year on paper: a few pages that a farrier and a tax preparer can read at a glance."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from billing.pack.late import ChangedFigure
from billing.reports.sales_tax import SalesTax, sales_tax
from billing.reports.year.by_time import PeriodTotals, months_in, quarters_in
from billing.reports.year_end import YearEnd
from practice.lib import formats
from practice.lib.charts import BarChart, columns
from practice.lib.countries import MileageScheme
from practice.lib.letterhead import Letterhead, letterhead
from practice.lib.pdf import render_pdf
from practice.lib.periods import quarters_of
from practice.lib.profile import Profile


@dataclass(frozen=True, kw_only=True)
class YearPaper(Letterhead):
    """The year as it is printed; amounts are still numbers, the template writes them."""

    year: YearEnd
    title: str
    made: str
    months: list[tuple[str, PeriodTotals]]
    quarters: list[tuple[str, PeriodTotals]]
    received: BarChart
    business_part: str
    span: str
    taxes: SalesTax
    late: list[ChangedFigure]
    tolls_and_standard: Decimal
    scheme: MileageScheme


def year_paper(year: YearEnd, late: list[ChangedFigure], profile: Profile, today: date) -> YearPaper:
    """Return the year as its paper shows it."""
    income, locale = year.income, profile.locale
    names = [formats.short_month(month.begin, locale) for month in year.months]
    spans = [
        f"{formats.day_and_month(quarter.begin, locale)} to {formats.day_and_month(quarter.end, locale)}"
        for quarter in quarters_of(year.period)
    ]
    miles = year.miles
    begin, end = (formats.long_date(day, locale) for day in (year.period.begin, year.period.end))
    return YearPaper(
        **letterhead(profile, locale),
        year=year,
        title=f"The year {year.period.years}",
        made=formats.long_date(today, locale),
        months=list(zip(names, months_in(year), strict=True)),
        quarters=list(zip(spans, quarters_in(year), strict=True)),
        received=columns(income.by_month, names, 504, 210),
        taxes=sales_tax(year.period, profile),
        business_part=formats.percent(miles.actual.business_share * 100, locale),
        span=f"{begin} to {end}",
        late=late,
        tolls_and_standard=miles.standard.total + miles.parking_and_tolls,
        scheme=profile.scheme,
    )


def report_pdf(year: YearEnd, late: list[ChangedFigure], profile: Profile, today: date) -> bytes:
    """Return the year's report as a PDF. Raises PdfUnavailable where this machine makes none."""
    paper = year_paper(year, late, profile, today)
    return render_pdf("pdf/year_end.html", {"paper": paper, "profile": profile})
