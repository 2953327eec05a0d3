"""Lists to choose a country, a currency and a language from, by the names of CLDR (Unicode; in Babel).

What is money where: ISO 4217's list one, from memory, for the few countries below.
"""

import pytest
from babel import Locale
from babel.units import get_unit_name

from practice.lib.formats import is_language
from practice.lib.territories import (
    Usual,
    country_choices,
    country_names,
    currency_choices,
    currency_names,
    language_choices,
    language_names,
    usual_in,
)
from practice.lib.units import DISTANCE_UNITS


def test_countries_are_those_of_iso_3166_by_name_without_what_is_no_country():
    names = country_names()

    assert [names[code] for code in ("US", "GB", "AU", "DE")] == [
        *("United States", "United Kingdom", "Australia", "Germany"),
    ]
    assert {"EU", "EZ", "UN", "XA", "ZZ", "QO"} & names.keys() == set()
    # ISO 3166-1 has 249 officially assigned codes; CLDR adds a few, such as Kosovo's XK.
    assert 249 <= len(names) <= 265
    assert list(names)[:3] == ["AF", "AX", "AL"]


def test_the_countries_with_mileage_rates_come_first():
    [(first, known), (rest, others)] = country_choices()

    assert (first, rest) == ("With mileage rates", "All others")
    assert known == [("AU", "Australia"), ("GB", "United Kingdom"), ("US", "United States")]
    assert {code for code, _ in known + others} == country_names().keys()


def test_the_currency_of_the_country_comes_first_and_one_of_the_past_that_is_chosen_stays():
    [(country, own), (_, others)] = currency_choices("CH", chosen="DEM")

    assert (country, own) == ("Switzerland", [("CHF", "Swiss Franc (CHF)")])
    assert others[0] == ("DEM", "DEM")
    assert ("USD", "US Dollar (USD)") in others
    assert "DEM" not in currency_names()


def test_languages_of_the_country_come_first_and_cldr_knows_each():
    [(country, own), (_, others)] = language_choices("US", chosen="en-US")

    assert country == "United States"
    assert {("en-US", "English (United States)"), ("es-US", "Spanish (United States)")} <= set(own)
    assert ("de-DE", "German (Germany)") in others
    assert [tag for tag in language_names() if not is_language(tag)] == []


def test_without_a_country_there_is_one_list():
    assert [heading for heading, _ in currency_choices("")] == ["All"]
    assert [heading for heading, _ in language_choices("", chosen="tlh")] == ["All"]
    assert language_choices("", chosen="tlh")[0][1][0] == ("tlh", "tlh")


@pytest.mark.parametrize(
    ("code", "usual"),
    [
        ("", Usual("USD", "en-US", "mi", "actual_only")),
        ("US", Usual("USD", "en-US", "mi", "us_standard")),
        ("GB", Usual("GBP", "en-GB", "mi", "uk_simplified")),
        ("AU", Usual("AUD", "en-AU", "km", "au_cents_per_km")),
        ("DE", Usual("EUR", "de-DE", "km", "actual_only")),
        ("JP", Usual("JPY", "ja-JP", "km", "actual_only")),
        ("CN", Usual("CNY", "zh-Hans-CN", "km", "actual_only")),
        ("AQ", Usual("USD", "en-US", "km", "actual_only")),
    ],
)
def test_what_a_practice_starts_with_follows_its_country(code, usual):
    assert usual_in(code) == usual


def test_the_units_are_named_as_cldr_names_them():
    names = {"mi": "length-mile", "km": "length-kilometer"}

    assert {unit.name: unit.many for unit in DISTANCE_UNITS.values()} == {
        name: get_unit_name(measured, locale=Locale("en", "US")) for name, measured in names.items()
    }
