"""Many processes take from one shelf at once: on the real database."""

import subprocess
import sys
from datetime import date
from decimal import Decimal

import pytest

from stock.actions.valuing import balances_that_differ, value_items
from stock.models import Movement, Shelf, Valuation
from tests.factories.stock import ItemFactory, receipt
from tests.processes import ROOT, surroundings

pytestmark = [pytest.mark.slow, pytest.mark.django_db(transaction=True)]
PROCESSES, USES = 4, 10

USER = f"""
import sys, time
from pathlib import Path
import django
django.setup()
from datetime import date, timedelta
from decimal import Decimal
from stock.actions.movements import NewFact, add_facts
from stock.models import Item
barrier, number, items = Path(sys.argv[1]), int(sys.argv[2]), list(Item.objects.order_by("pk"))
(barrier / str(number)).touch()
while len(list(barrier.iterdir())) < {PROCESSES}:
    time.sleep(0.005)
for turn in range({USES}):
    on = date(2026, 1, 5) + timedelta(turn % 3)
    # Each takes the items in another order: whoever locks them has to do so in one.
    taken = items if number % 2 else items[::-1]
    add_facts([NewFact(item, on, "use", Decimal(2), order=number) for item in taken])
"""


def test_what_processes_take_at_once_is_all_written_and_costed_as_if_in_turn(tmp_path):
    items = ItemFactory.create_batch(2)
    for item in items:
        receipt(item, "30", "3", on=date(2026, 1, 2))
        receipt(item, "30", "4", on=date(2026, 1, 6))

    processes = [
        subprocess.Popen(
            [sys.executable, "-c", USER, tmp_path, str(number)],
            cwd=ROOT,
            env=surroundings(DJANGO_SETTINGS_MODULE="practice.project.settings"),
        )
        for number in range(PROCESSES)
    ]

    assert [process.wait(timeout=120) for process in processes] == [0] * PROCESSES
    assert Movement.objects.filter(kind="use").count() == 2 * PROCESSES * USES
    left = Decimal(60 - 2 * PROCESSES * USES)
    assert list(Shelf.objects.values_list("on_hand", flat=True)) == [left, left]
    assert balances_that_differ() == []
    columns = ("item", "position", "movement", "cost", "on_hand", "value")
    kept = list(Valuation.objects.order_by("item", "position").values_list(*columns))
    value_items([item.pk for item in items])
    assert list(Valuation.objects.order_by("item", "position").values_list(*columns)) == kept
