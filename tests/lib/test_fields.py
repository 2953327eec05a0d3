"""Exact numbers in the database: what a column of binary floats would get wrong."""

from decimal import Decimal

import pytest
from django.core.exceptions import FieldError
from django.db import transaction
from django.db.models import F, Sum

from billing.models import Invoice
from practice.lib.errors import RuleBroken
from practice.lib.fields import exact
from tests.factories.practice import DAY, ClientFactory

pytestmark = pytest.mark.django_db
D = Decimal


@pytest.fixture
def invoices():
    client = ClientFactory()
    for number, total in enumerate(["0.10", "0.70", "0.80"]):
        Invoice.objects.create(
            number=str(number), client=client, issued=DAY, due=DAY, net=D(total), tax=D(0), total=D(total)
        )
    return Invoice.objects.order_by("number")


def test_ten_and_seventy_cents_are_eighty_in_sql(invoices):
    parts = invoices.filter(number__in=["0", "1"]).aggregate(sum=Sum("total"))["sum"]

    assert parts == D("0.80")
    assert invoices.filter(total=exact(parts)).get().number == "2"


def test_a_sum_of_columns_and_exact_numbers_stays_exact(invoices):
    left = invoices.annotate(left=F("total") - exact("0.25")).values_list("left", flat=True)

    assert list(left) == [D("-0.15"), D("0.45"), D("0.55")]


def test_a_bare_number_beside_a_column_is_refused(invoices):
    with pytest.raises(FieldError):
        list(invoices.annotate(left=F("total") - 1))


def test_six_decimals_come_back_as_they_went_in(invoices):
    Invoice.objects.create(
        number="x",
        client=ClientFactory(),
        issued=DAY,
        due=DAY,
        net=D("0.000001"),
        tax=D(0),
        total=D("0.000001"),
    )

    assert Invoice.objects.get(number="x").total == D("0.000001")


@pytest.mark.parametrize("total", ["1000000000", "-1000000000"])
def test_a_sum_that_no_practice_comes_near_is_a_broken_rule(invoices, total):
    row = invoices[0]
    row.total = D(total)

    with pytest.raises(RuleBroken, match="too large to keep") as refused, transaction.atomic():
        row.save()
    assert (refused.value.code, invoices[0].total) == ("number_too_large", D("0.10"))


def test_a_change_of_many_rows_keeps_to_the_same_bound(invoices):
    with pytest.raises(RuleBroken, match="too large to keep"), transaction.atomic():
        invoices.update(total=D(10**9))

    rows = list(invoices)
    rows[0].total = D(10**9)
    with pytest.raises(RuleBroken, match="too large to keep"), transaction.atomic():
        Invoice.objects.bulk_update(rows, ["total"])
