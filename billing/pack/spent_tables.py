"""What went out: expenses, their categories, contract labor, tools."""

from billing.models import Equipment, Expense
from billing.pack.tables import AMOUNT, DAY, NUMBER, Formula, Table, YearTables, columns
from billing.rules.schedule_c import schedule_c_line


class SpentTables(YearTables):
    """What went out: expenses, their categories, contract labor, tools."""

    def gather(self) -> None:
        self.expenses = self._expenses()
        self.by_category = self._by_category()
        self.contractors, self.equipment = self._contractors(), self._equipment()

    def _expenses(self) -> Table:
        rows = Expense.objects.within(self.period).select_related("vehicle").order_by("date", "pk")
        return Table(
            "Expenses",
            "expenses.csv",
            columns(
                ("date", DAY),
                "category",
                "Schedule C line",
                ("amount", AMOUNT, True),
                "vendor",
                "vehicle",
                "note",
                "receipt",
            ),
            tuple(
                (
                    row.date,
                    row.category,
                    schedule_c_line(row.category, self.profile.country),
                    row.amount,
                    row.vendor,
                    row.vehicle.name if row.vehicle else "",
                    row.note,
                    f"receipts/{row.receipt}" if row.receipt else "",
                )
                for row in rows
            ),
        )

    def _by_category(self) -> Table:
        names, amounts = self.expenses.cells("category"), self.expenses.cells("amount")
        return Table(
            "By category",
            "expenses_by_category.csv",
            columns("category", "Schedule C line", ("amount", AMOUNT, True)),
            tuple(
                (
                    row.category,
                    row.schedule_c_line,
                    Formula(f"SUMIFS({amounts},{names},$A{{row}})", row.amount),
                )
                for row in self.year.expenses.rows
            ),
        )

    def _contractors(self) -> Table:
        return Table(
            "Contract labor",
            "contract_labor.csv",
            columns("paid to", ("amount", AMOUNT, True), ("payments", NUMBER), "notes"),
            tuple(
                (row.vendor or "not said", row.amount, row.payments, "; ".join(row.notes))
                for row in self.year.expenses.contractors
            ),
        )

    def _equipment(self) -> Table:
        rows = Equipment.objects.filter(placed_in_service__lte=self.period.end).order_by(
            "placed_in_service", "pk"
        )
        return Table(
            "Tools and equipment",
            "equipment.csv",
            columns(
                "name", ("in service", DAY), ("cost", AMOUNT), ("disposed of", DAY), ("disposed for", AMOUNT)
            ),
            tuple(
                (row.name, row.placed_in_service, row.cost, row.disposed_on, row.disposed_for)
                for row in rows
                if row.disposed_on is None or row.disposed_on >= self.period.begin
            ),
        )
