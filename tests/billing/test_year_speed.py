"""One year's totals take no longer with twenty years in the book than with two."""

import gc
import time
from datetime import date
from decimal import Decimal

import pytest
from django.urls import reverse

from billing.reports.year_end import year_end
from practice.lib.profile import Profile
from practice.models import Leg, Visit
from tests.billing.twenty_years import LAST_YEAR, add_years, set_up

TODAY = date(LAST_YEAR + 1, 1, 20)


def processor_time(action) -> float:
    begin = time.process_time()
    action()
    return time.process_time() - begin


def yardstick() -> None:
    """Work that has nothing to do with the book: what else runs on the machine slows it down alike."""
    sums = {}
    for number in range(30_000):
        sums[number % 365] = sums.get(number % 365, Decimal(0)) + Decimal(number).scaleb(-2)


class Cost:
    """What an action takes at best: in seconds, and in yardsticks over some turns with one beside each."""

    def __init__(self, action, batches: int = 3, times: int = 6):
        gc.collect()
        rounds = [
            [(processor_time(action), processor_time(yardstick)) for _ in range(times)]
            for _ in range(batches)
        ]
        self.seconds = min(took for pairs in rounds for took, _ in pairs)
        self.yardsticks = min(sum(a for a, _ in pairs) / sum(b for _, b in pairs) for pairs in rounds)

    def times_as_long_as(self, other: "Cost") -> float:
        """Return the ratio, by seconds at best or by yardsticks: noise is rarely in both, a true one is."""
        return min(self.seconds / other.seconds, self.yardsticks / other.yardsticks)

    def __repr__(self):
        return f"{self.seconds:.3f} s, {self.yardsticks:.2f} yardsticks"


def costs(browser, year: int) -> dict[str, Cost]:
    address, profile = reverse("billing:year", args=[year]), Profile.current()
    assert browser.get(address).status_code == 200
    return {
        "year_end": Cost(lambda: year_end(year, profile, TODAY)),
        "the page": Cost(lambda: browser.get(address)),
    }


@pytest.mark.slow
@pytest.mark.django_db(transaction=True)
def test_a_year_of_twenty_is_as_quick_as_a_year_of_two(browser, settings):
    settings.TODAY = TODAY
    set_up()
    add_years(range(LAST_YEAR - 1, LAST_YEAR + 1))
    few = costs(browser, LAST_YEAR)
    add_years(range(LAST_YEAR - 19, LAST_YEAR - 1))
    many, middle = costs(browser, LAST_YEAR), costs(browser, LAST_YEAR - 10)

    for what in few:
        print(f"{what}: {few[what]} of 2 years; {many[what]} of 20; the 10th {middle[what]}")
    assert (Visit.objects.count(), Leg.objects.count()) == (40_000, 80_000)
    for took in (many, middle):
        assert {what: took[what].seconds < 0.5 for what in few} == dict.fromkeys(few, True)
        longer = {what: took[what].times_as_long_as(few[what]) for what in few}
        assert {what: ratio < 1.2 for what, ratio in longer.items()} == dict.fromkeys(few, True)
