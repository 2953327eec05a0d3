"""Smallest valid rows of money."""

from datetime import date
from decimal import Decimal

from factory.django import DjangoModelFactory

from billing.models import MileageRate


class MileageRateFactory(DjangoModelFactory):
    class Meta:
        model = MileageRate

    scheme = "us_standard"
    valid_from = date(2027, 1, 1)
    rate = Decimal("0.78")
