"""Smallest valid rows of money."""

from datetime import date
from decimal import Decimal

import factory
from factory.django import DjangoModelFactory

from billing.models import Equipment, Expense, MileageRate, RepeatingExpense


class MileageRateFactory(DjangoModelFactory):
    class Meta:
        model = MileageRate

    scheme = "us_standard"
    valid_from = date(2027, 1, 1)
    rate = Decimal("0.78")


class ExpenseFactory(DjangoModelFactory):
    class Meta:
        model = Expense

    date = date(2026, 10, 14)
    category = "vehicle fuel"
    amount = Decimal("48.20")


class RepeatingExpenseFactory(DjangoModelFactory):
    class Meta:
        model = RepeatingExpense

    category = "utilities"
    amount = Decimal("46.50")
    valid_from = date(2026, 1, 31)


class EquipmentFactory(DjangoModelFactory):
    class Meta:
        model = Equipment

    name = factory.Sequence(lambda n: f"Anvil {n}")
    placed_in_service = date(2024, 3, 1)
    cost = Decimal("640.00")
