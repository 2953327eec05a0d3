"""Closing a tax year, and reopening it."""

from datetime import date

import pytest

from billing.actions.closing_years import close_year, pack_was_made, reopen_year
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


def test_reopening_goes_back_to_what_was_closed_before():
    ProfileFactory(closed_through=date(2026, 3, 31))
    close_year(2026, TODAY)

    reopen_year()

    assert Profile.current().closed_through == date(2026, 3, 31)


def test_once_a_pack_was_made_it_stands():
    ProfileFactory()
    close_year(2026, TODAY)
    pack_was_made()

    with pytest.raises(RuleBroken, match="a pack was made since"):
        reopen_year()

    assert Profile.current().closed_through == date(2026, 12, 31)


def test_what_was_closed_elsewhere_is_not_reopened_here():
    ProfileFactory()
    close_year(2025, TODAY)
    Profile.objects.update(closed_through=date(2026, 6, 30))

    with pytest.raises(RuleBroken, match="not closed here"):
        reopen_year()

    assert Profile.current().closed_through == date(2026, 6, 30)


@pytest.mark.parametrize(
    ("year", "code", "message"),
    [
        (2027, "year_not_over", "The year ends on December 31, 2027. Close it after that day."),
        (
            2025,
            "year_closed",
            "The book is already closed through December 31, 2025, this year included.",
        ),
    ],
)
def test_a_year_that_is_not_over_or_closed_already_is_refused(year, code, message):
    ProfileFactory(closed_through=date(2025, 12, 31))

    with pytest.raises(RuleBroken) as refused:
        close_year(year, TODAY)

    assert (refused.value.code, str(refused.value)) == (code, message)
    assert Profile.current().closed_through == date(2025, 12, 31)


def test_an_empty_book_has_nothing_to_close():
    with pytest.raises(RuleBroken, match="Fill in the settings first"):
        close_year(2026, TODAY)

    assert not Profile.objects.exists()


def test_making_a_pack_lets_the_closing_stand():
    profile = ProfileFactory()
    close_year(2026, TODAY)

    remember(year_end(2026, profile, TODAY), TODAY)

    with pytest.raises(RuleBroken, match="a pack was made since"):
        reopen_year()
