"""Lists of expenses, repeating expenses and equipment."""

import django_tables2 as tables
from django.utils.text import capfirst

from billing.models import Equipment, Expense, RepeatingExpense
from billing.tables.words import in_words
from practice.lib.list_rows import ListRow
from practice.lib.tables import MonthlyTable, RowTable


class ExpenseTable(MonthlyTable):
    one, many = "expense", "expenses"
    orders = {
        "-date": "Latest first",
        "date": "Earliest first",
        "category": "By category",
        "-amount": "Largest first",
    }
    nothing_found = "Nothing paid to '{0}', and no category called '{0}'."
    date = tables.Column(order_by=("date", "pk"))
    category = tables.Column(order_by=("category", "-date", "-pk"))
    amount = tables.Column()

    class Meta(MonthlyTable.Meta):
        model = Expense
        fields = ("date", "category", "amount")
        empty_text = "No expenses yet. Add the first one: fuel, a toll, a rasp."

    @property
    def by_category(self) -> bool:
        return self.order == "category"

    def heading(self, expense: Expense) -> str:
        if self.by_category:
            return self.profile.home_country.named_category(expense.category)
        return super().heading(expense)

    def row(self, expense: Expense) -> ListRow:
        category = expense.get_category_display()
        name = expense.vendor or category if self.by_category else category
        return ListRow(
            expense.get_absolute_url(),
            name,
            more=in_words(
                self.day_of(expense),
                expense.vendor if name != expense.vendor else "",
                str(expense.vehicle or ""),
                expense.receipt and "receipt",
            ),
            fact=self.money(expense.amount),
            note="came back" if expense.amount < 0 else "",
        )


class RepeatingExpenseTable(RowTable):
    one, many = "repeating expense", "repeating expenses"
    orders = {"pk": "As added", "category": "By category", "-amount": "Largest first"}
    pk = tables.Column()
    category = tables.Column(order_by=("category", "pk"))
    amount = tables.Column()

    class Meta(RowTable.Meta):
        model = RepeatingExpense
        fields = ("pk", "category", "amount")
        empty_text = "Add the insurance or the phone bill, and you are reminded when it is due."

    def row(self, expense: RepeatingExpense) -> ListRow:
        category, due = expense.get_category_display(), expense.next_due
        until = expense.valid_to and f"until {self.day(expense.valid_to)}"
        return ListRow(
            expense.get_absolute_url(),
            str(expense),
            more=capfirst(in_words(expense.vendor and category, expense.get_every_display().lower(), until)),
            fact=self.money(expense.amount),
            note=f"due {self.near_day(due)}" if due else "ended",
        )


class EquipmentTable(RowTable):
    one, many = "tool", "tools"
    orders = {"is_in_use": "In use first", "name": "By name", "-cost": "Highest cost first"}
    nothing_found = "No tool is called '{}'."
    is_in_use = tables.Column(order_by=("-is_in_use", "-placed_in_service", "-pk"))
    name = tables.Column()
    cost = tables.Column()

    class Meta(RowTable.Meta):
        model = Equipment
        fields = ("is_in_use", "name", "cost")
        empty_text = "No tools yet. Add the anvil, the forge, the grinder."

    def heading(self, tool: Equipment) -> str:
        if self.order != "is_in_use":
            return ""
        return "In use" if tool.is_in_use else "Sold or scrapped"

    def row(self, tool: Equipment) -> ListRow:
        since = self.day(tool.placed_in_service)
        sold = tool.disposed_for and f"sold for {self.money(tool.disposed_for)}"
        return ListRow(
            tool.get_absolute_url(),
            tool.name,
            more=f"Since {since}" if tool.is_in_use else f"{since} to {self.day(tool.disposed_on)}",
            fact=self.money(tool.cost),
            note="" if tool.is_in_use else sold or "scrapped",
        )
