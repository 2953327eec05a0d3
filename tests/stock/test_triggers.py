"""The database itself keeps ledger and invoices: the triggers that are there after all migrations."""

import pytest
from django.db import IntegrityError, connection, transaction

from stock.models import Movement
from tests.factories.stock import ItemFactory, receipt

pytestmark = pytest.mark.django_db


def test_the_guards_are_there_after_all_migrations():
    query = (
        "SELECT name FROM sqlite_master WHERE type = 'trigger'"
        if connection.vendor == "sqlite"
        else "SELECT tgname FROM pg_trigger WHERE NOT tgisinternal"
    )
    with connection.cursor() as cursor:
        cursor.execute(query)
        names = sorted(name for (name,) in cursor.fetchall() if "_no_" in name)

    assert names == [
        "billing_creditnote_no_delete",
        "billing_creditnote_no_update",
        "billing_creditnoteline_no_delete",
        "billing_creditnoteline_no_update",
        "billing_invoice_no_delete",
        "billing_invoice_no_update",
        "billing_invoiceline_no_delete",
        "billing_invoiceline_no_update",
        "billing_paymentchange_no_delete",
        "billing_paymentchange_no_update",
        "practice_legchange_no_delete",
        "practice_legchange_no_update",
        "stock_movement_no_delete",
        "stock_movement_no_update",
    ]


@pytest.mark.parametrize(
    "change", [lambda rows: rows.update(note="other"), lambda rows: rows._raw_delete(rows.db)]
)
def test_a_fact_of_stock_is_neither_changed_nor_deleted(change):
    movement = receipt(ItemFactory(), "10")

    with pytest.raises(IntegrityError), transaction.atomic():
        change(Movement.objects.filter(pk=movement.pk).exclude(pk=0))

    assert list(Movement.objects.values_list("pk", "note")) == [(movement.pk, "")]
