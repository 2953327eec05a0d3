"""The plan of a large practice, beside the same convolutions in bare numpy."""

import random
from datetime import date, timedelta
from decimal import Decimal

import numpy
import pytest

from practice.lib.profile import Profile
from stock.models import Item
from stock.reports.demand import NOTHING, Candidate, DemandInputs, Expected, Planner
from stock.reports.orders import ExpectedDelivery
from stock.reports.reorder import suggestion
from stock.rules.planning import Unplanned, demand, in_groups, shift_chances

pytestmark = pytest.mark.benchmark
D = Decimal
HORSES, PLACES, ITEMS = 800, 100, 150
FRONTS, HINDS, NAILS = range(60), range(60, 120), range(120, 130)
REST = range(130, ITEMS)


def large_practice(rng: random.Random) -> Expected:
    """800 horses at 100 places; each takes two sizes of shoes, nails, and some something else."""
    inputs = []
    for place in range(PLACES):
        candidates = []
        for number in range(HORSES // PLACES):
            amounts = {
                rng.choice(FRONTS): (D(2), D(0), D(2)),
                rng.choice(HINDS): (D(2), D(0), D(2)),
                rng.choice(NAILS): (D(24), D(22), D(12)),
            }
            if rng.random() < 0.3:
                amounts[rng.choice(REST)] = tuple(D(rng.randrange(20, 60)) for _ in range(3))
            candidates.append(
                Candidate((place, number), rng.randrange(-10, 42), rng.choice((28, 35, 42, 49)), amounts)
            )
        inputs += [DemandInputs(place, group) for group in in_groups(candidates)]
    shifts = shift_chances([rng.randrange(-12, 25) for _ in range(100)])
    unplanned = {item: Unplanned(0.4, (D(1), D(1), D(2))) for item in range(0, ITEMS, 2)}
    return Expected(tuple(inputs), shifts, unplanned)


def test_a_plan_of_800_horses_and_150_items(compare):
    expected = large_practice(random.Random(4))
    items = [Item(pk=pk, name=f"Item {pk}", pack_size=D(10)) for pk in range(ITEMS)]
    profile = Profile(name="", lead_time_days=7, review_period_days=7)
    day = date(2026, 10, 14)
    # Every third item is on the way, so that whether it lasts until then is looked at as well.
    on_the_way = [ExpectedDelivery(day + timedelta(5), D(20))]

    def plan():
        planner = Planner(expected)
        rows = [
            suggestion(item, day, planner, D(0), on_the_way if item.pk % 3 == 0 else (), profile)
            for item in items
        ]
        assert sum(row.packs for row in rows) > ITEMS / 2
        assert sum(row.shortage is not None for row in rows) > ITEMS / 6

    def lengths(window):
        planner = Planner(expected)
        for item in range(ITEMS):
            groups = [(one, planner.rounds(i, window)) for i, one in planner.inputs(item).items()]
            parts = [len(demand([group], NOTHING, window).chances) for group in groups]
            yield [*parts, len(demand([], expected.unplanned.get(item, NOTHING), window).chances)]

    # Both windows, and the days that finding the first short one looks at.
    sizes = [size for window in (14, 21, 7, 4, 2, 1) for size in lengths(window)]

    def bare():
        for parts in sizes:
            total = numpy.ones(1)
            for length in parts:
                total = numpy.convolve(total, numpy.full(length, 1 / length))

    compare("plan of 800 horses, 150 items", plan, "its convolutions in bare numpy", bare)
