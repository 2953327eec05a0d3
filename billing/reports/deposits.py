"""Bank deposits: their list, one of them, and what waits to be taken to the bank."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

import django_tables2 as tables

from billing.models import BankDeposit, Payment
from practice.lib import formats
from practice.lib.list_rows import ListRow
from practice.lib.profile import Profile
from practice.lib.tables import MonthlyTable

ZERO = Decimal(0)


class DepositTable(MonthlyTable):
    """Bank deposits by month."""

    one, many = "deposit", "deposits"
    orders = {"-date": "Latest first", "date": "Earliest first", "-total": "Largest first"}
    amount_field = "total"
    date = tables.Column(order_by=("date", "pk"))
    total = tables.Column()

    class Meta(MonthlyTable.Meta):
        model = BankDeposit
        fields = ("date", "total")
        empty_text = "No deposits yet. Select the cash and checks that go to the bank."

    def row(self, deposit: BankDeposit) -> ListRow:
        total = self.money(deposit.total)
        return ListRow(deposit.get_absolute_url(), self.day_of(deposit), more=deposit.note, fact=total)


@dataclass(frozen=True)
class DepositPage:
    """A deposit: its cash together, and each check by its number."""

    deposit: BankDeposit
    payments: list[Payment]
    profile: Profile

    @property
    def cash(self) -> list[Payment]:
        return [row for row in self.payments if row.method == Payment.Method.CASH]

    @property
    def checks(self) -> list[Payment]:
        """The checks by number, those without one last."""
        rows = [row for row in self.payments if row.method == Payment.Method.CHECK]
        return sorted(rows, key=lambda row: (not row.check_number, row.check_number.zfill(40), row.pk))

    @property
    def total(self) -> Decimal:
        return sum_of_payments(self.payments)

    @property
    def heading(self) -> str:
        """`$620.00 deposited.`"""
        return f"{formats.money(self.total, self.profile.currency, self.profile.locale)} deposited."

    @property
    def is_closed(self) -> bool:
        return self.profile.is_closed(self.deposit.date)

    @property
    def cash_rows(self) -> list[ListRow]:
        return [self._row(row) for row in self.cash]

    @property
    def check_rows(self) -> list[ListRow]:
        return [self._row(row) for row in self.checks]

    @property
    def cash_total(self) -> Decimal:
        return sum_of_payments(self.cash)

    @property
    def checks_total(self) -> Decimal:
        return sum_of_payments(self.checks)

    def _row(self, payment: Payment) -> ListRow:
        day = formats.medium_date(payment.date, self.profile.locale)
        return ListRow(
            payment.get_absolute_url(),
            str(payment.client),
            more=f"{payment.title}, {day}",
            fact=formats.amount(payment.amount, self.profile.currency, self.profile.locale),
        )


def deposit_page(deposit: BankDeposit, profile: Profile) -> DepositPage:
    """Return what the page and the slip of a deposit show."""
    rows = deposit.payments.select_related("client").order_by("date", "pk")
    return DepositPage(deposit, list(rows), profile)


def sum_of_payments(payments: Iterable[Payment]) -> Decimal:
    return sum((row.amount for row in payments), ZERO)


def not_deposited_in_words(profile: Profile) -> str:
    """`$820.00 in cash and checks is not deposited.`, or that all of it is."""
    total = sum_of_payments(Payment.objects.to_deposit())
    if not total:
        return "All cash and checks are deposited."
    return f"{formats.money(total, profile.currency, profile.locale)} in cash and checks is not deposited."
