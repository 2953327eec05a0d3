"""Days and numbers are checked where they are typed."""

from datetime import date
from decimal import Decimal

import pytest
from babel.localedata import locale_identifiers
from django import forms

from practice.lib.form_fields import DayField, NumberField, PastDayField, PlannedDayField, WrittenLike
from practice.lib.formats import chance, decimal_mark, percent

TODAY = date(2026, 10, 14)
AHEAD = "This day is still ahead. Type today, 2026-10-14, or an earlier day."
LONG_AGO = "This day is too long ago. Type 1990-01-01 or a later day."
TOO_LATE = "This day is too far ahead. Type a day up to 2036-12-31."
TOO_FAR = "This day is more than two years ahead. Type a day up to 2028-10-14."


def errors_of(field, typed, locale="en-US", currency="USD"):
    field.profile = WrittenLike(locale, currency, TODAY)
    try:
        field.clean(typed)
    except forms.ValidationError as error:
        return error.messages
    return []


@pytest.mark.parametrize(
    ("field", "typed", "errors"),
    [
        (PastDayField(), "2026-10-14", []),
        (PastDayField(), "2026-10-15", [AHEAD]),
        (PlannedDayField(), "2028-10-14", []),
        (PlannedDayField(), "2028-10-15", [TOO_FAR]),
        (PastDayField(required=False), "", []),
        (PastDayField(), "1990-01-01", []),
        (PastDayField(), "1989-12-31", [LONG_AGO]),
        (PlannedDayField(), "0001-01-01", [LONG_AGO]),
        (DayField(), "0001-01-01", [LONG_AGO]),
        (DayField(), "2036-12-31", []),
        (DayField(), "9999-12-31", [TOO_LATE]),
    ],
)
def test_what_has_happened_is_not_ahead_and_what_is_planned_not_too_far(field, typed, errors):
    assert errors_of(field, typed) == errors


def test_a_form_without_today_does_not_let_every_day_pass():
    with pytest.raises(TypeError):
        PastDayField().clean("2026-10-14")


@pytest.mark.parametrize(
    ("field", "typed", "errors"),
    [
        (NumberField(step=Decimal("0.5"), example="1.5"), "1.5", []),
        (
            NumberField(step=Decimal("0.5"), example="1.5"),
            "1.25",
            ["Type a number in steps of 0.5, such as 1.5."],
        ),
        (NumberField(), "1000000000", ["This number is too large. Check what you typed."]),
        (NumberField(step=Decimal("0.5")), "9" * 5000, ["This number is too large. Check what you typed."]),
        (NumberField(high=Decimal(5000), example="12"), "6000", ["Type a number up to 5,000, such as 12."]),
    ],
)
def test_a_number_has_steps_and_bounds(field, typed, errors):
    assert errors_of(field, typed) == errors


def test_an_example_is_written_as_the_reader_writes():
    assert errors_of(NumberField(example="3.40"), "drei", "de-DE") == ["Type a number such as 3,40."]


def test_a_decimal_comma_is_read_wherever_it_is_written_and_refused_elsewhere():
    """The marks are CLDR's, by Babel."""
    tags = [name.replace("_", "-") for name in locale_identifiers()]
    read = {tag for tag in tags if errors_of(NumberField(), "12,5", tag) == []}

    assert read == {tag for tag in tags if decimal_mark(tag) == ","}
    assert len(tags) > len(read) > 300
    assert errors_of(NumberField(), "12,5", "en-US") == ["Type a number such as 12.5."]


@pytest.mark.parametrize(
    ("locale", "rate", "share"), [("en-US", "7.25%", "99.6%"), ("de-DE", "7,25\u00a0%", "99,6\u00a0%")]
)
def test_percent_is_written_as_the_locale_does(locale, rate, share):
    """Patterns of CLDR: `#,##0%` in English, a blank before the sign in German."""
    assert (percent(Decimal("7.25"), locale), chance(0.996, locale)) == (rate, share)
