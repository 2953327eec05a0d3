"""Work of a year by service. Worked by hand."""

from datetime import date
from decimal import Decimal

import pytest

from billing.actions.invoicing import close_days
from billing.models import Price
from billing.reports.year.work import ServiceDone, WorkDone, work_in
from practice.lib.periods import tax_year
from tests.factories.practice import (
    HorseFactory,
    OwnerFactory,
    ProfileFactory,
    ServiceFactory,
    VisitFactory,
    WorkFactory,
    owned_horse,
)

pytestmark = pytest.mark.django_db
D = Decimal
YEAR = tax_year(2026, "US")
MAY = date(2026, 5, 4)


def done(service, price=None, on=MAY, horse=None, quantity="1", status="done", **visit):
    return WorkFactory(
        visit=VisitFactory(date=on, status=status, **visit),
        horse=horse or owned_horse(),
        service=service,
        price=None if price is None else D(price),
        quantity=D(quantity),
    )


def test_work_counts_before_it_is_billed_held_back_or_billed_elsewhere():
    """Two trims at the list's 52, one at a typed 0; a lost shoe has no price and is held back."""
    ProfileFactory()
    trim, lost = ServiceFactory(), ServiceFactory()
    Price.objects.create(service=trim, valid_from=date(2026, 1, 1), price=52)
    horse = HorseFactory()
    done(trim, horse=horse, billed=True)
    done(trim, horse=horse)
    done(trim, price="0")
    done(lost)
    done(trim, status="planned")
    done(trim, on=date(2025, 12, 31))

    assert work_in(YEAR, "USD") == WorkDone(
        visits=4,
        horses_seen=3,
        by_service=(ServiceDone(trim, D(3), D(104)), ServiceDone(lost, D(1), D(0))),
    )


def test_the_net_is_that_of_the_whole_line_rounded_once():
    """1.5 × 33.33 = 49.995, which is 50.00 before it is shared by three."""
    ProfileFactory()
    trim, horse = ServiceFactory(), HorseFactory()
    for share in ("33.34", "33.33", "33.33"):
        OwnerFactory(horse=horse, share=D(share))
    done(trim, price="33.33", quantity="1.5", horse=horse)

    before = work_in(YEAR, "USD")
    close_days(MAY, MAY, MAY)

    assert before.by_service == (ServiceDone(trim, D("1.5"), D("50.00")),)
    assert work_in(YEAR, "USD") == before


def test_a_price_that_came_later_changes_nothing_that_is_invoiced():
    ProfileFactory()
    trim = ServiceFactory()
    Price.objects.create(service=trim, valid_from=date(2026, 1, 1), price=52)
    done(trim)
    close_days(MAY, MAY, MAY)
    Price.objects.create(service=trim, valid_from=date(2026, 5, 1), price=60)
    done(trim)

    assert work_in(YEAR, "USD").by_service == (ServiceDone(trim, D(2), D(112)),)


def test_a_visit_without_work_is_a_visit():
    ProfileFactory()
    VisitFactory(date=MAY, status="done")

    assert work_in(YEAR, "USD") == WorkDone(visits=1, horses_seen=0, by_service=())
