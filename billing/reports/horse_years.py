"""What a horse brought in and what its materials cost, year by year."""

from collections import defaultdict
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from billing.reports.what_pays import decimal_of, nets_of
from practice.lib.figures import FigureRow, FigureTable
from practice.lib.formats import amount, counted, money
from practice.lib.money import round_money
from practice.lib.periods import tax_year, tax_year_of
from practice.lib.profile import Profile
from practice.models import Horse
from practice.reports.history import visits_with
from practice.reports.material_costs import cost_by_visit_and_horse

ZERO = Decimal(0)


@dataclass(frozen=True)
class HorseYear:
    """A tax year's visits to a horse: what they brought without tax, and what the materials cost."""

    label: str
    visits: int
    billed: Decimal
    materials: Decimal

    @property
    def left(self) -> Decimal:
        return self.billed - self.materials


@dataclass(frozen=True)
class HorseYears:
    """All years of a horse, the latest first; `held` visits cannot be billed yet and brought nothing."""

    horse: Horse
    years: list[HorseYear]
    held: int
    profile: Profile

    @property
    def answer(self) -> str:
        """`Juno brought in $1,240.00, of which $1,131.75 is left after materials.`"""
        if not self.years:
            return f"{self.horse}: nothing has been done yet."
        (_, billed), _, (_, left) = self.figures
        return f"{self.horse} brought in {billed}, of which {left} is left after materials."

    @property
    def total(self) -> HorseYear:
        return HorseYear(
            "All years",
            sum(year.visits for year in self.years),
            sum((year.billed for year in self.years), ZERO),
            sum((year.materials for year in self.years), ZERO),
        )

    @property
    def figures(self) -> list[tuple[str, str]]:
        """The totals, each with its name, as the page shows them first."""
        total = self.total
        named = (("Billed", total.billed), ("Materials", total.materials), ("Left", total.left))
        return [(name, money(value, self.profile.currency, self.profile.locale)) for name, value in named]

    @property
    def table(self) -> FigureTable:
        sums = (self._row(self.total),) if len(self.years) > 1 else ()
        rows = tuple(self._row(year) for year in self.years)
        return FigureTable(("Year", "Visits", "Billed", "Materials", "Left"), rows, sums)

    def _row(self, year: HorseYear) -> FigureRow:
        sums = (year.billed, year.materials, year.left)
        style = self.profile.currency, self.profile.locale
        return FigureRow(year.label, (str(year.visits), *(amount(value, *style) for value in sums)))

    @property
    def note(self) -> str:
        """What the figures leave out."""
        held = f" {counted(self.held, 'visit')} cannot be billed yet." if self.held else ""
        return f"Without sales tax, and before driving and other expenses.{held}"


def years_of_horse(horse: Horse, profile: Profile) -> HorseYears:
    """Return what a horse brought, as invoiced, else as it would be billed, less what was credited."""
    visits = list(visits_with(horse))
    nets, held = nets_of(visits, profile)
    costs = cost_by_visit_and_horse(horse.materials.all(), horse.returns.all())
    by_year = defaultdict(list)
    for visit in visits:
        by_year[tax_year_of(visit.date, profile.country)].append(visit.pk)
    years = []
    for year, keys in sorted(by_year.items(), reverse=True):
        billed = sum((part for key in keys for part in nets.get((key, horse.pk), {}).values()), Fraction(0))
        cost = sum((costs.get((key, horse.pk), ZERO) for key in keys), ZERO)
        sums = (round_money(value, profile.currency) for value in (decimal_of(billed), cost))
        years.append(HorseYear(tax_year(year, profile.country).years, len(keys), *sums))
    return HorseYears(horse, years, len(held), profile)
