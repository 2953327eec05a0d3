"""The tables of the pack in the order of the workbook, the summary first."""

from django.utils.text import capfirst

from billing.pack.income_tables import IncomeTables
from billing.pack.road_tables import RoadTables
from billing.pack.shelf_tables import ShelfTables
from billing.pack.spent_tables import SpentTables
from billing.pack.tables import YearTables
from billing.rules.vehicle_costs import PARKING_AND_TOLLS
from practice.lib.sheet_tables import AMOUNT, Cell, Formula, Table, columns


class Sheets(YearTables):
    """The tables of a year. Sums are formulas over the rows."""

    def gather(self) -> None:
        self.income, self.shelf = IncomeTables(self.year, self.profile), ShelfTables(self.year, self.profile)
        self.spent, self.road = SpentTables(self.year, self.profile), RoadTables(self.year, self.profile)

    def all(self) -> list[Table]:
        """Return every table, the summary first."""
        income, shelf, spent, road = self.income, self.shelf, self.spent, self.road
        return [
            self._summary(),
            *(income.by_month, income.by_quarter, income.received, income.invoiced),
            *(income.credited, income.owed),
            *(shelf.materials, shelf.deliveries),
            *(spent.expenses, spent.by_category, spent.contractors, spent.equipment),
            *(road.miles, road.by_vehicle, road.standard),
            *(income.sales_tax, income.estimated, income.work),
            self._to_fix(),
        ]

    def _to_fix(self) -> Table:
        return Table(
            "To fix", "to_fix.csv", columns("what"), tuple((row.text,) for row in self.year.warnings)
        )

    def _summary(self) -> Table:
        year, tax = self.year, self.sales_tax_word
        came_in, miles = year.income, year.miles
        received, kinds = (self.income.received.cells(name) for name in ("amount", "what it is"))

        def invoiced(column: str) -> str:
            return f"{self.income.invoiced.sum(column)}-{self.income.credited.sum(column)}"

        def taken_off(kind: str) -> str:
            return f'-SUMIFS({received},{kinds},"{kind}")'

        def spent_on(category: str) -> str:
            amounts, categories = self.spent.expenses.cells("amount"), self.spent.expenses.cells("category")
            return f'SUMIFS({amounts},{categories},"{category}")'

        rows: list[tuple[Cell, ...]] = [
            ("Received", Formula(self.income.received.sum("amount"), came_in.total)),
            (f"{capfirst(tax)} included", Formula(self.income.by_month.sum(f"{tax} included"), came_in.tax)),
            ("Received, net of tax", Formula("B2-B3", came_in.net_of_tax)),
            ("Tips included", Formula(self.income.received.sum("tip"), came_in.tips)),
            ("Refunds taken off", Formula(taken_off("refund"), came_in.refunds - came_in.bounced)),
            ("Bounced checks taken off", Formula(taken_off("bounced check"), came_in.bounced)),
            ("Invoiced, net", Formula(invoiced("net"), year.invoiced.net)),
            (f"Invoiced, {tax}", Formula(invoiced("tax"), year.invoiced.tax)),
            ("Invoiced", Formula(invoiced("total"), year.invoiced.total)),
            ("Owed to you at year end", Formula(self.income.owed.sum("open"), year.accounts.receivable)),
            ("Client credit at year end", Formula(self.income.owed.sum("credit"), year.accounts.credit)),
            ("Materials used", Formula(self.shelf.materials.at("value", 5), year.materials.used)),
            ("Expenses, without materials", Formula(self.spent.expenses.sum("amount"), year.expenses.total)),
            ("Business distance", Formula(self.road.by_vehicle.sum("business"), miles.business)),
            ("Total distance", Formula(self.road.by_vehicle.sum("total"), miles.total)),
            *self._by_standard_rate(Formula(spent_on(PARKING_AND_TOLLS), miles.parking_and_tolls)),
            ("Vehicle costs", Formula(self.road.by_vehicle.sum("vehicle costs"), miles.actual.costs)),
            ("By actual costs", Formula(self.road.by_vehicle.sum("by actual costs"), miles.actual.amount)),
        ]
        if miles.left_out:
            rows.append(("Vehicle costs that name no vehicle, left out", miles.left_out))
        return Table("Summary", "summary.csv", columns("what", ("amount", AMOUNT)), tuple(rows))

    def _by_standard_rate(self, tolls: Formula) -> list[tuple[Cell, ...]]:
        """Return what the standard rate comes to; parking and tolls stand before it if they are in it."""
        miles, scheme = self.year.miles, self.profile.scheme
        rate = Formula(self.road.standard.sum("amount"), miles.standard.total)
        total = miles.by_standard_rate(scheme)
        if not miles.standard.rows:
            return [("Parking and tolls", tolls)]
        if not scheme.parking_on_top:
            return [("By the standard rate", rate), ("Parking and tolls", tolls)]
        return [
            (f"{capfirst(self.profile.unit.many)} at the standard rate", rate),
            ("Parking and tolls, on top", tolls),
            ("By the standard rate", Formula(f"{rate.text}+{tolls.text}", total)),
        ]
