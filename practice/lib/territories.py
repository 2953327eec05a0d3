"""Countries, currencies and languages by their names, as CLDR (Babel) has them, and what is usual where.

For lists to choose from. Each choice is the code that the book keeps and the name that is read.
"""

import unicodedata
from dataclasses import dataclass
from functools import cache

from babel import Locale, localedata
from babel.core import get_global
from babel.numbers import get_currency_name, get_territory_currencies

from practice.lib.countries import country_of, described_countries

Choices = list[tuple[str, str]]
Groups = list[tuple[str, Choices]]

ENGLISH = Locale.parse("en_US")
# Codes of two letters in CLDR that are no country: the euro area, the United Nations, and those for testing.
NO_COUNTRY = {"CQ", "EU", "EZ", "QO", "UN", "XA", "XB", "ZZ"}
DOLLAR, AMERICAN = "USD", "en-US"


@dataclass(frozen=True)
class Usual:
    """What a practice in a country starts with: currency, language, distance unit, mileage scheme."""

    currency: str
    locale: str
    distance_unit: str
    mileage_scheme: str


def country_names() -> dict[str, str]:
    """Return the name of each country by its code, in the order of the names."""
    names = _named_by_cldr()
    more = {country.code: country.code for country in described_countries() if country.code not in names}
    return by_name({**names, **more}) if more else names


@cache
def _named_by_cldr() -> dict[str, str]:
    return by_name(
        {
            code: name
            for code, name in ENGLISH.territories.items()
            if len(code) == 2 and code.isalpha() and code not in NO_COUNTRY
        }
    )


@cache
def currency_names() -> dict[str, str]:
    """Return the name of each currency that is money somewhere today, by its code, in the order of names."""
    codes = {code for country in _named_by_cldr() for code in get_territory_currencies(country)}
    return by_name({code: f"{get_currency_name(code, locale=ENGLISH)} ({code})" for code in codes})


@cache
def language_names() -> dict[str, str]:
    """Return the name of each language of a country by its tag: `es-US`, `Spanish (United States)`."""
    known = map(Locale.parse, localedata.locale_identifiers())
    spoken = [locale for locale in known if locale.territory in _named_by_cldr() and not locale.variant]
    names = {tag_of(locale): locale.get_display_name(ENGLISH) for locale in spoken}
    return by_name({tag: name for tag, name in names.items() if name})


def by_name(names: dict[str, str]) -> dict[str, str]:
    """Return names by code, sorted by name; Åland stands with A."""

    def plain(pair: tuple[str, str]) -> str:
        return unicodedata.normalize("NFKD", pair[1]).encode("ascii", "ignore").decode().casefold()

    return dict(sorted(names.items(), key=plain))


def tag_of(locale: Locale) -> str:
    """Return a locale as a BCP 47 tag: `zh-Hans-CN`."""
    return "-".join(filter(None, [locale.language, locale.script, locale.territory]))


def usual_in(code: str) -> Usual:
    """Return what is usual in a country; US dollars and English where CLDR knows nothing better."""
    country = country_of(code)
    money = get_territory_currencies(code) if code else []
    language, *script = get_global("likely_subtags").get(f"und_{code}", "en").split("_")[:2]
    tags = [f"{language}-{code}", "-".join([language, *script, code])]
    return Usual(
        money[0] if money else DOLLAR,
        next((tag for tag in tags if tag in language_names()), AMERICAN),
        country.distance_unit,
        country.mileage_scheme.name,
    )


def country_choices() -> Groups:
    """Return the countries: first those whose tax year and mileage rates are known here."""
    names = country_names()
    known = [code for code in names if country_of(code).mileage_scheme.unit]
    return [
        ("With mileage rates", [(code, names[code]) for code in known]),
        ("All others", [(code, name) for code, name in names.items() if code not in known]),
    ]


def currency_choices(code: str, chosen: str = "") -> Groups:
    """Return the currencies, first those of a country; `chosen` is among them even if it is of the past."""
    return _usual_first(currency_names(), get_territory_currencies(code) if code else [], code, chosen)


def language_choices(code: str, chosen: str = "") -> Groups:
    """Return the languages, first those of a country; `chosen` is among them however rare it is."""
    names = language_names()
    return _usual_first(names, [tag for tag in names if code and tag.endswith(f"-{code}")], code, chosen)


def _usual_first(names: dict[str, str], usual: list[str], country: str, chosen: str) -> Groups:
    rest = [(code, name) for code, name in names.items() if code not in usual]
    if chosen and chosen not in names:
        rest.insert(0, (chosen, chosen))
    if not usual:
        return [("All", rest)]
    first = [(code, names[code]) for code in usual]
    return [(country_names().get(country, country), first), ("All others", rest)]


def guessed_country(time_zone: str, languages: str) -> str:
    """Return the country of a time zone, else that of the browser's first language; blank for neither.

    `languages` is an Accept-Language header: `en-US,en;q=0.9`.
    """
    tags = [part.partition(";")[0].strip() for part in languages.split(",")]
    guesses = [get_global("zone_territories").get(time_zone, "")]
    guesses += [tag.rpartition("-")[2].upper() for tag in tags if "-" in tag]
    return next((code for code in guesses if code in country_names()), "")
