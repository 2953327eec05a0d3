"""Many processes take from one shelf at once: on the real database."""

import subprocess
import sys
from datetime import date
from decimal import Decimal

import pytest

from stock.actions.valuing import value_items
from stock.models import Balance, Movement, Shelf, Valuation
from stock.reports.counting import ToCount, things_to_count
from tests.factories.stock import ItemFactory, receipt
from tests.processes import PATIENCE, ROOT, surroundings
from tests.stock.balances import balances_that_differ

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
    add_facts([NewFact(item, on, "use", Decimal(2), cause_order=number) for item in taken])
"""


LAST_PAIR = """
import sys, time
from pathlib import Path
import django
django.setup()
from datetime import date
from decimal import Decimal
from stock.actions.movements import NewFact, add_facts
from stock.models import Item
barrier, number, item = Path(sys.argv[1]), int(sys.argv[2]), Item.objects.get()
(barrier / str(number)).touch()
while len(list(barrier.iterdir())) < 2:
    time.sleep(0.005)
add_facts([NewFact(item, date(2026, 1, 5), "use", Decimal(2), job=f"{number}/1", cause_order=number)])
"""


def test_two_that_use_the_last_pair_at_once_are_both_written_down_and_it_is_to_be_counted(tmp_path):
    shoe = ItemFactory()
    receipt(shoe, "2", "3", on=date(2026, 1, 2))

    assert [process.wait(timeout=PATIENCE) for process in run_at_once(LAST_PAIR, tmp_path, 2)] == [0, 0]

    assert Movement.objects.filter(kind="use").count() == 2
    assert list(Shelf.objects.values_list("on_hand", "value")) == [(-2, -6)]
    assert list(Balance.objects.values_list("quantity", flat=True)) == [-2]
    assert things_to_count(date(2026, 1, 5))[0] == ToCount(
        shoe, below=[("", Decimal(-2))], never=True, used=Decimal(4)
    )
    assert balances_that_differ() == []


def run_at_once(code, barrier, processes):
    """Start processes that wait for each other at a barrier."""
    return [
        subprocess.Popen(
            [sys.executable, "-c", code, barrier, str(number)],
            cwd=ROOT,
            env=surroundings(DJANGO_SETTINGS_MODULE="practice.project.settings"),
        )
        for number in range(processes)
    ]


def test_what_processes_take_at_once_is_all_written_and_costed_as_if_in_turn(tmp_path):
    items = ItemFactory.create_batch(2)
    for item in items:
        receipt(item, "30", "3", on=date(2026, 1, 2))
        receipt(item, "30", "4", on=date(2026, 1, 6))

    processes = run_at_once(USER, tmp_path, PROCESSES)

    assert [process.wait(timeout=PATIENCE) for process in processes] == [0] * PROCESSES
    assert Movement.objects.filter(kind="use").count() == 2 * PROCESSES * USES
    left = Decimal(60 - 2 * PROCESSES * USES)
    assert list(Shelf.objects.values_list("on_hand", flat=True)) == [left, left]
    assert balances_that_differ() == []
    columns = ("item", "position", "movement", "cost", "on_hand", "value")
    stored = list(Valuation.objects.order_by("item", "position").values_list(*columns))
    value_items([item.pk for item in items])
    assert list(Valuation.objects.order_by("item", "position").values_list(*columns)) == stored
