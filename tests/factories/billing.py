"""Smallest valid rows of money."""

from datetime import date
from decimal import Decimal

import factory
from factory.django import DjangoModelFactory

from billing.actions.settling import resettle_client
from billing.models import (
    Charge,
    Equipment,
    EstimatedPayment,
    Expense,
    Invoice,
    MileageRate,
    RepeatingExpense,
)
from tests.factories.practice import ClientFactory


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


class InvoiceFactory(DjangoModelFactory):
    """An invoice as one of before: without lines. Give `net` and `tax`; its client is settled anew."""

    class Meta:
        model = Invoice

    number = factory.Sequence(lambda n: f"OLD-{n:04d}")
    client = factory.SubFactory(ClientFactory)
    issued = date(2026, 10, 14)
    due = factory.LazyAttribute(lambda invoice: invoice.issued)
    net = Decimal(100)
    tax = Decimal(0)
    total = factory.LazyAttribute(lambda invoice: invoice.net + invoice.tax)

    @classmethod
    def _create(cls, model, *args, **kwargs):
        invoice = super()._create(model, *args, **kwargs)
        resettle_client(invoice.client)
        return invoice


class EstimatedPaymentFactory(DjangoModelFactory):
    class Meta:
        model = EstimatedPayment

    date = date(2026, 4, 15)
    amount = Decimal("1200.00")


class ChargeFactory(DjangoModelFactory):
    class Meta:
        model = Charge

    date = date(2026, 10, 14)
    client = factory.SubFactory(ClientFactory)
    name = "No-show"
    unit_price = Decimal("25.00")
