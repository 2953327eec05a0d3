"""What was spent in a year, by category, and what contractors were paid."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from billing.models import Expense
from billing.models.expense import CATEGORIES
from billing.reports.year.income import by_months
from billing.rules.vehicle_costs import PARKING_AND_TOLLS, VEHICLE_COSTS
from practice.lib.countries import Country
from practice.lib.periods import Period, months_of

ZERO = Decimal(0)
CONTRACT_LABOR = "contract labor"


@dataclass(frozen=True)
class CategoryTotal:
    """What was spent in one category; `line` of the tax form is blank where no form is known."""

    category: str
    amount: Decimal
    line: str


@dataclass(frozen=True)
class Contractor:
    """What one contractor was paid; `vendor` is blank where it is not recorded who it was."""

    vendor: str
    amount: Decimal
    payments: int
    notes: tuple[str, ...]


@dataclass(frozen=True)
class Expenses:
    """`rows` in the order of the contract's categories; `by_month` twelve amounts of the tax year."""

    rows: tuple[CategoryTotal, ...]
    by_month: tuple[Decimal, ...]
    contractors: tuple[Contractor, ...] = ()

    def of(self, categories: Iterable[str]) -> Decimal:
        """Return what was spent in these categories together."""
        return sum((row.amount for row in self.rows if row.category in categories), ZERO)

    @property
    def total(self) -> Decimal:
        return sum((row.amount for row in self.rows), ZERO)

    @property
    def vehicle_costs(self) -> Decimal:
        return self.of(VEHICLE_COSTS)

    @property
    def parking_and_tolls(self) -> Decimal:
        return self.of([PARKING_AND_TOLLS])


def expenses_in(year: Period, country: Country) -> Expenses:
    """Return what was spent within a tax year."""
    sums: dict[str, Decimal] = defaultdict(Decimal)
    rows = list(
        Expense.objects.within(year)
        .order_by("pk")
        .values_list("date", "category", "amount", "vendor", "note")
    )
    for _, category, amount, _, _ in rows:
        sums[category] += amount
    return Expenses(
        rows=tuple(
            CategoryTotal(category, sums[category], country.line_of(category))
            for category in CATEGORIES
            if category in sums
        ),
        by_month=by_months(((day, amount) for day, _, amount, _, _ in rows), months_of(year)),
        contractors=contractors_of(
            (vendor, amount, note) for _, category, amount, vendor, note in rows if category == CONTRACT_LABOR
        ),
    )


def contractors_of(rows: Iterable[tuple[str, Decimal, str]]) -> tuple[Contractor, ...]:
    """Return what each contractor was paid, from (vendor, amount, note); by name, without a name last."""
    paid: dict[str, list[tuple[Decimal, str]]] = defaultdict(list)
    for vendor, amount, note in rows:
        paid[vendor].append((amount, note))
    return tuple(
        Contractor(
            vendor,
            sum((amount for amount, _ in paid[vendor]), ZERO),
            len(paid[vendor]),
            tuple(dict.fromkeys(note for _, note in paid[vendor] if note)),
        )
        for vendor in sorted(paid, key=lambda name: (not name, name.casefold()))
    )
