"""What was spent: expenses, their categories, contract labor, tools and equipment."""

from billing.models import Equipment, Expense
from billing.pack.tables import YearTables
from practice.lib.sheet_tables import AMOUNT, DAY, NUMBER, Formula, Table, columns


class SpentTables(YearTables):
    """What was spent: expenses, their categories, contract labor, tools and equipment."""

    def gather(self) -> None:
        self.expenses = self._expenses()
        self.by_category = self._by_category()
        self.contractors, self.equipment = self._contractors(), self._equipment()

    def line_columns(self) -> list[str]:
        """Return the heading of the tax form's lines, where the country's form is known."""
        form = self.profile.home_country.tax_form
        return [form.line_heading] if form else []

    def lines(self, category: str) -> list[str]:
        """Return the cells under `line_columns()`."""
        country = self.profile.home_country
        return [country.line_of(category)] if country.tax_form else []

    def _expenses(self) -> Table:
        rows = Expense.objects.within(self.period).select_related("vehicle").order_by("date", "pk")
        return Table(
            "Expenses",
            "expenses.csv",
            columns(
                ("date", DAY),
                "category",
                *self.line_columns(),
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
                    *self.lines(row.category),
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
            columns("category", *self.line_columns(), ("amount", AMOUNT, True)),
            tuple(
                (
                    row.category,
                    *self.lines(row.category),
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
                (row.vendor or "not recorded", row.amount, row.payments, "; ".join(row.notes))
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
                "name",
                ("in service since", DAY),
                ("cost", AMOUNT),
                ("sold or retired on", DAY),
                ("sold for", AMOUNT),
            ),
            tuple(
                (row.name, row.placed_in_service, row.cost, row.disposed_on, row.disposed_for)
                for row in rows
                if row.disposed_on is None or row.disposed_on >= self.period.begin
            ),
        )
