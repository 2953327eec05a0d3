"""One year's totals take no longer with twenty years in the book than with two."""

import time

import pytest
from django.db import transaction
from django.urls import reverse

from billing.reports.year_end import year_end
from practice.lib.profile import Profile
from practice.models import Leg, Visit
from tests.billing.twenty_years import LAST, fill

TODAY = LAST.replace(year=2026, month=1, day=20)


def seconds(action, times: int = 15) -> float:
    """Return the processor time of an action, the least of several: what else runs here only adds to it."""
    took = []
    for _ in range(times):
        begin = time.process_time()
        action()
        took.append(time.process_time() - begin)
    return min(took)


def costs(browser, year: int) -> dict[str, float]:
    address, profile = reverse("billing:year", args=[year]), Profile.current()
    assert browser.get(address).status_code == 200
    return {
        "year_end": seconds(lambda: year_end(year, profile, TODAY)),
        "the page": seconds(lambda: browser.get(address)),
    }


@pytest.mark.slow
@pytest.mark.django_db
def test_a_year_of_twenty_is_as_quick_as_a_year_of_two(browser, settings):
    settings.TODAY = TODAY
    found = {}
    for years in (2, 20):
        with transaction.atomic():
            fill(years)
            size = Visit.objects.count(), Leg.objects.count()
            found[size] = costs(browser, LAST.year)
            if years == 20:
                middle = costs(browser, LAST.year - 10)
            transaction.set_rollback(True)

    few, many = found.values()
    for what in few:
        print(
            f"{what}: {few[what]:.3f} s of 2 years, {many[what]:.3f} s of 20, the 10th {middle[what]:.3f} s"
        )
    assert max(found) == (40_000, 80_000)
    for took in (many, middle):
        assert {what: took[what] < 0.5 for what in few} == dict.fromkeys(few, True)
        assert {what: took[what] < 1.2 * few[what] for what in few} == dict.fromkeys(few, True)
