"""What a horse brought and cost by year, as its page shows it."""

from datetime import date
from decimal import Decimal

import pytest

from billing.actions.invoicing import close_days
from billing.reports.horse_years import HorseYear, years_of_horse
from billing.reports.what_pays import what_paid
from billing.rules.paying import HORSE
from practice.actions.visits import complete_visit
from practice.lib.periods import tax_year
from practice.lib.profile import Profile
from practice.models import Horse, Work
from tests.factories.practice import (
    DAY,
    HorseFactory,
    MaterialUseFactory,
    ProfileFactory,
    VisitFactory,
    WorkFactory,
    owned_horse,
)
from tests.factories.stock import ItemFactory, receipt

D = Decimal
pytestmark = pytest.mark.django_db


def shod(horse: Horse, on: date, price: str | None, shoes: int = 0, others: Horse | None = None) -> Work:
    """A done visit at which a horse was shod, another one was trimmed, and so many shoes were used."""
    visit = VisitFactory(date=on)
    work = WorkFactory(visit=visit, horse=horse, price=price and D(price))
    if others:
        WorkFactory(visit=visit, horse=others, price=D(60))
    if shoes:
        shoe = ItemFactory()
        receipt(shoe, "10", on=date(2024, 1, 1), unit_cost=D("3.40"))
        MaterialUseFactory(visit=visit, horse=horse, item=shoe, quantity=D(shoes))
    complete_visit(visit)
    return work


def test_each_year_says_what_was_billed_and_what_the_materials_cost():
    ProfileFactory()
    horse, other = owned_horse(name="Juno"), owned_horse()
    shod(horse, date(2025, 3, 3), "140", shoes=4, others=other)
    close_days(date(2025, 3, 3), date(2025, 3, 3), DAY)
    shod(horse, date(2026, 3, 3), "150", shoes=2)
    shod(horse, DAY, "55")  # not billed yet: as it would be

    found = years_of_horse(horse, Profile.current())

    assert found.years == [
        HorseYear("2026", 2, D("205.00"), D("6.80")),
        HorseYear("2025", 1, D("140.00"), D("13.60")),
    ]
    assert found.answer == "Juno brought in $345.00, of which $324.60 is left after materials."
    assert [row.cells for row in found.table.sums] == [("3", "345.00", "20.40", "324.60")]
    assert found.note == "Without sales tax, and before driving and other expenses."


def test_a_year_of_a_horse_is_what_the_page_of_what_pays_says_of_it():
    ProfileFactory()
    horse, other = owned_horse(), owned_horse()
    shod(horse, date(2026, 3, 3), "150", shoes=2, others=other)
    close_days(date(2026, 3, 3), date(2026, 3, 3), DAY)
    shod(horse, DAY, "55", others=other)
    profile = Profile.current()

    [year] = years_of_horse(horse, profile).years

    rows = what_paid(tax_year(2026, profile.country), profile).views[HORSE]
    [other_way] = [row for row in rows if row.thing == horse]
    assert (year.billed, year.materials) == (other_way.income, other_way.materials)


def test_a_visit_that_cannot_be_billed_is_counted_and_said():
    ProfileFactory()
    horse = owned_horse()
    shod(horse, DAY, None)

    found = years_of_horse(horse, Profile.current())

    assert found.years == [HorseYear("2026", 1, D("0.00"), D("0.00"))]
    assert found.note.endswith("other expenses. 1 visit cannot be billed yet.")


def test_a_horse_that_was_never_done_has_no_years(browser):
    ProfileFactory()
    horse = HorseFactory(name="Juno")

    page = browser.get(f"/horses/{horse.pk}/earnings/").content.decode()

    assert "Juno: nothing has been done yet." in page
