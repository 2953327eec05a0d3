"""The two places that round money, and money in the reader's locale."""

from decimal import Decimal

import pytest
from babel.numbers import format_currency
from hypothesis import given
from hypothesis import strategies as st

from practice.lib import formats
from practice.lib.millionths import from_millionths, to_millionths
from practice.lib.money import minor_digits, round_money, split

D = Decimal


@pytest.mark.parametrize(("currency", "digits"), [("USD", 2), ("JPY", 0), ("KWD", 3)])  # CLDR
def test_a_currency_has_the_digits_of_cldr(currency, digits):
    assert minor_digits(currency) == digits


@pytest.mark.parametrize(
    ("amount", "rounded"), [("0.125", "0.13"), ("-0.125", "-0.13"), ("0.1249", "0.12"), ("-0.001", "0.00")]
)
def test_money_is_rounded_half_away_from_zero(amount, rounded):
    assert str(round_money(D(amount), "USD")) == rounded


@pytest.mark.parametrize(
    ("units", "weights", "parts"),
    [(5, [70, 30], [4, 1]), (5, [30, 70], [2, 3]), (800, [1, 1, 1], [267, 267, 266])],
)  # documentation of a widely used money library
def test_an_amount_is_split_like_the_published_cases(units, weights, parts):
    assert split(D(units) / 100, weights, "USD") == [D(part) / 100 for part in parts]


def test_a_leftover_cent_goes_to_the_largest_remainder_and_ties_to_the_first():
    assert split(D("0.02"), [1, 1, 1], "USD") == [D("0.01"), D("0.01"), D(0)]
    assert split(D("-0.05"), [70, 30], "USD") == [D("-0.04"), D("-0.01")]


@given(
    st.integers(-(10**9), 10**9),
    st.lists(st.decimals(0, 100, places=4), min_size=1, max_size=8).filter(any),
    st.sampled_from(["USD", "JPY", "KWD"]),
)
def test_parts_always_add_up_to_the_whole(units, weights, currency):
    amount = D(units).scaleb(-minor_digits(currency))

    parts = split(amount, weights, currency)

    assert sum(parts) == amount
    exact = [amount * weight / sum(weights) for weight in weights]
    assert all(
        abs(part - share) < D(1).scaleb(-minor_digits(currency))
        for part, share in zip(parts, exact, strict=True)
    )


@pytest.mark.parametrize("weights", [[], [0, 0], [1, -1]])
def test_an_amount_is_not_split_by_nothing(weights):
    with pytest.raises(ValueError, match="weights"):
        split(D(1), weights, "USD")


def test_an_amount_finer_than_the_currency_is_not_split():
    with pytest.raises(ValueError, match="finer"):
        split(D("0.005"), [1], "USD")


@given(st.decimals(-(10**9), 10**9, places=6))
def test_a_number_survives_the_database_exactly(number):
    assert from_millionths(to_millionths(number)) == number


@pytest.mark.parametrize("value", [0.1, "0.1234567", "x", True, D("1e13")])
def test_what_is_not_exact_is_refused(value):
    with pytest.raises(ValueError):
        to_millionths(value)


@pytest.mark.parametrize("locale", ["en-US", "de-DE", "fr-FR", "ja-JP"])
@pytest.mark.parametrize(("amount", "currency"), [("1234.50", "USD"), ("-99.90", "EUR"), ("1200", "JPY")])
def test_money_is_written_as_cldr_has_it(locale, amount, currency):
    by_babel = format_currency(D(amount), currency, locale=locale.replace("-", "_"))

    assert formats.money(D(amount), currency, locale) == by_babel.replace("-", "−")


@pytest.mark.parametrize(
    ("value", "currency", "locale", "written"),
    [
        ("145", "USD", "en-US", "$145.00"),
        ("0.085", "USD", "en-US", "$0.085"),
        ("0.085", "EUR", "de-DE", "0,085\u00a0€"),
        ("0.5", "JPY", "en-US", "¥0.5"),
    ],
)
def test_a_price_of_one_unit_keeps_the_decimals_that_it_has(value, currency, locale, written):
    assert formats.price(D(value), currency, locale) == written


@pytest.mark.parametrize(
    ("text", "locale", "number"),
    [
        ("1,250.5", "en-US", "1250.5"),
        ("1.250,5", "de-DE", "1250.5"),
        ("1 250,5", "fr-FR", "1250.5"),
        ("12.5", "de-DE", "12.5"),
        ("−3", "en-US", "-3"),
    ],
)
def test_numbers_are_read_in_the_readers_locale(text, locale, number):
    assert formats.parse_number(text, locale) == D(number)


@pytest.mark.parametrize("text", ["", "1e5", "NaN", "1,25", "12,5.5", "--1", "١٢", "five"])
def test_what_is_no_number_is_refused(text):
    with pytest.raises(ValueError):
        formats.parse_number(text, "en-US")
