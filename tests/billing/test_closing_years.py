"""Closing a tax year for good, and taking that back."""

from datetime import date

import pytest

from billing.actions.closing_years import close_year, pack_was_made, take_back_closing
from billing.pack import remember
from billing.reports.year_end import year_end
from practice.lib.errors import RuleBroken
from practice.lib.profile import Profile
from tests.factories.practice import ProfileFactory

pytestmark = pytest.mark.django_db
TODAY = date(2027, 10, 14)


def test_it_closes_through_the_last_day_of_the_tax_year():
    ProfileFactory(country="GB")

    close_year(2026, TODAY)

    assert Profile.current().closed_through == date(2027, 4, 5)


def test_it_is_taken_back_to_what_was_closed_before():
    ProfileFactory(closed_through=date(2026, 3, 31))
    close_year(2026, TODAY)

    take_back_closing()

    assert Profile.current().closed_through == date(2026, 3, 31)


def test_once_a_pack_was_made_it_stands():
    ProfileFactory()
    close_year(2026, TODAY)
    pack_was_made()

    with pytest.raises(RuleBroken, match="a pack was made since"):
        take_back_closing()

    assert Profile.current().closed_through == date(2026, 12, 31)


def test_what_was_closed_elsewhere_is_not_taken_back_here():
    ProfileFactory()
    close_year(2025, TODAY)
    Profile.objects.update(closed_through=date(2026, 6, 30))

    with pytest.raises(RuleBroken, match="not closed here"):
        take_back_closing()

    assert Profile.current().closed_through == date(2026, 6, 30)


@pytest.mark.parametrize(
    ("year", "said"),
    [
        (2027, "The year is not over: it ends on 2027-12-31."),
        (2025, "The book is closed through 2025-12-31 already."),
    ],
)
def test_a_year_that_is_not_over_or_closed_already_is_refused(year, said):
    ProfileFactory(closed_through=date(2025, 12, 31))

    with pytest.raises(RuleBroken) as refused:
        close_year(year, TODAY)

    assert str(refused.value) == said
    assert Profile.current().closed_through == date(2025, 12, 31)


def test_an_empty_book_has_nothing_to_close():
    with pytest.raises(RuleBroken, match="Write down the practice first"):
        close_year(2026, TODAY)

    assert not Profile.objects.exists()


def test_making_a_pack_lets_the_closing_stand():
    profile = ProfileFactory()
    close_year(2026, TODAY)

    remember(year_end(2026, profile, TODAY), TODAY)

    with pytest.raises(RuleBroken, match="a pack was made since"):
        take_back_closing()
