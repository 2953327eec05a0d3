"""What was spent in a year, by category, and what contractors were paid."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
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
    """`rows` in the order of the contract's categories; `by_month` twelve amounts of the tax year.

    `vehicle_costs`: what each vehicle cost by its key, under None what names no vehicle. `unnamed`: the keys
    of the expenses that name none.
    """

    rows: tuple[CategoryTotal, ...]
    by_month: tuple[Decimal, ...]
    contractors: tuple[Contractor, ...] = ()
    vehicle_costs: Mapping[int | None, Decimal] = field(default_factory=dict)
    unnamed: tuple[int, ...] = ()

    def of(self, categories: Iterable[str]) -> Decimal:
        """Return what was spent in these categories together."""
        return sum((row.amount for row in self.rows if row.category in categories), ZERO)

    @property
    def total(self) -> Decimal:
        return sum((row.amount for row in self.rows), ZERO)

    @property
    def parking_and_tolls(self) -> Decimal:
        return self.of([PARKING_AND_TOLLS])


def expenses_in(year: Period, country: Country) -> Expenses:
    """Return what was spent within a tax year."""
    sums: dict[str, Decimal] = defaultdict(Decimal)
    vehicle_costs: dict[int | None, Decimal] = defaultdict(Decimal)
    rows = list(Expense.objects.within(year).order_by("pk"))
    of_vehicles = [row for row in rows if row.category in VEHICLE_COSTS]
    for row in rows:
        sums[row.category] += row.amount
    for row in of_vehicles:
        vehicle_costs[row.vehicle_id] += row.amount
    return Expenses(
        rows=tuple(
            CategoryTotal(category, sums[category], country.line_of(category))
            for category in CATEGORIES
            if category in sums
        ),
        by_month=by_months(((row.date, row.amount) for row in rows), months_of(year)),
        contractors=contractors_of(
            (row.vendor, row.amount, row.note) for row in rows if row.category == CONTRACT_LABOR
        ),
        vehicle_costs=dict(vehicle_costs),
        unnamed=tuple(row.pk for row in of_vehicles if row.vehicle_id is None),
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
