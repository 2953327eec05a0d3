"""Money, quantities and dates in the reader's locale, by CLDR (Babel). Input the same way, exactly.

`locale` is a BCP 47 tag, `en-US` where blank or unknown.
"""

import re
from collections.abc import Iterable, Sequence
from datetime import date, datetime, time
from decimal import ROUND_HALF_UP, Decimal
from functools import cache

from babel import Locale, UnknownLocaleError
from babel.dates import format_date, format_skeleton, format_time
from babel.lists import format_list
from babel.numbers import (
    NumberFormatError,
    format_currency,
    format_decimal,
    format_percent,
    get_decimal_symbol,
    get_group_symbol,
    parse_decimal,
)
from django.utils.text import capfirst

from practice.lib.money import minor_digits, round_money

MINUS = "−"
# The year of a date pattern with the words and marks that belong to it: ", y", " 'de' y", "y年".
YEAR = re.compile(r"^y+[^A-Za-z]?|[,\s]*(?:'[^']*'\s*)?y+[^a-zA-Z]*$")
PLAIN_NUMBER = re.compile(r"[-−]?[0-9][0-9.,'’\s]*|[-−]?[.,][0-9]+")


@cache
def locale_of(tag: str) -> Locale:
    """Return Babel's locale for a BCP 47 tag; `en-US` for one that CLDR does not know."""
    try:
        return Locale.parse(tag or "en-US", sep="-")
    except (UnknownLocaleError, ValueError):
        language = tag.split("-")[0]
        try:
            return Locale.parse(language)
        except (UnknownLocaleError, ValueError):
            return Locale.parse("en-US", sep="-")


def is_language(tag: str) -> bool:
    """Whether CLDR knows a BCP 47 tag such as `en-US`."""
    try:
        Locale.parse(tag, sep="-")
    except (UnknownLocaleError, ValueError, TypeError):
        return False
    return True


def _minus(text: str) -> str:
    return text.replace("-", MINUS)


def money(amount: Decimal, currency: str, locale: str = "") -> str:
    """Return an amount with its currency sign: `$1,234.50`, `1.234,50 €`."""
    return _minus(format_currency(round_money(amount, currency), currency, locale=locale_of(locale)))


def amount(value: Decimal, currency: str, locale: str = "") -> str:
    """Return an amount without the sign, for columns: `1,234.50`."""
    digits = minor_digits(currency)
    pattern = "#,##0" + ("." + "0" * digits if digits else "")
    return _minus(format_decimal(round_money(value, currency), format=pattern, locale=locale_of(locale)))


def unit_price(value: Decimal, currency: str, locale: str = "") -> str:
    """Return a price per unit, with as many decimals as it has and at least the currency's: `0.085`."""
    digits = max(minor_digits(currency), -value.normalize().as_tuple().exponent)
    pattern = "#,##0" + ("." + "0" * digits if digits else "")
    return _minus(format_decimal(value, format=pattern, locale=locale_of(locale)))


def price(value: Decimal, currency: str, locale: str = "") -> str:
    """Return a price per unit with its currency sign, for rows and sentences: `$145.00`, `$0.085`."""
    if value == round_money(value, currency):
        return money(value, currency, locale)
    digits = -value.normalize().as_tuple().exponent
    pattern = locale_of(locale).currency_formats["standard"].pattern
    return _minus(
        format_currency(
            value,
            currency,
            format=re.sub(r"\.0+", "." + "0" * digits, pattern),
            locale=locale_of(locale),
            currency_digits=False,
        )
    )


def quantity(value: Decimal, locale: str = "") -> str:
    """Return a number with the decimals that it has: `12`, `2.5`."""
    return _minus(format_decimal(value, format="#,##0.######", locale=locale_of(locale)))


def quantity_of(value: Decimal, unit: str, locale: str = "") -> str:
    """Return a quantity with its unit, but for what is counted singly: `250 ml`, `12`."""
    return quantity(value, locale) if unit == "each" else f"{quantity(value, locale)}\u00a0{unit}"


def about(value: float, locale: str = "") -> str:
    """Return a number that was worked out, to one decimal, half away from zero: `9.5`, `12`."""
    near = Decimal(repr(float(value))).quantize(Decimal("0.1"), ROUND_HALF_UP)
    return _minus(format_decimal(near + 0, format="#,##0.#", locale=locale_of(locale)))


def chance(value: float, locale: str = "") -> str:
    """Return a fraction of 1 as percent: `97%`; what is nearly none or all with more digits: `99.6%`."""
    is_plain = value in (0, 1) or 0.01 <= value <= 0.99
    near = value if is_plain else min(max(value, 0.001), 0.999)
    return _percent(Decimal(repr(near)), "0" if is_plain else "0.#", locale)


def decimal_mark(locale: str = "") -> str:
    """Return what stands before the decimals: `.`, `,`."""
    return get_decimal_symbol(locale_of(locale))


def for_a_field(value: Decimal, locale: str = "", least: int = 0) -> str:
    """Return a number as a field is filled with it: the locale's point, no thousands mark, `12,5`.

    `least` is how many decimals it has even where they are zeros: `3.40`.
    """
    pattern = "0." + "0" * least + "#" * (6 - least)
    return format_decimal(value, format=pattern, locale=locale_of(locale))


def percent(value: Decimal, locale: str = "") -> str:
    """Return a percentage with all its digits: `7.25%`. `value` is percent, not a fraction."""
    return _minus(_percent(value / 100, "0.######", locale))


def _percent(fraction: Decimal, digits: str, locale: str) -> str:
    """Return a fraction of 1 with the locale's sign for percent: `5%`, in German `5 %`."""
    known = locale_of(locale)
    pattern = known.percent_formats[None].pattern.replace("0", digits)
    return format_percent(fraction, format=pattern, locale=known)


def distance(value: Decimal, unit: str, locale: str = "") -> str:
    """Return a distance with one decimal and its unit: `13.6 mi`."""
    return _minus(format_decimal(value, format="#,##0.0", locale=locale_of(locale))) + f"\u00a0{unit}"


def tenths(value: Decimal, locale: str = "") -> str:
    """Return an odometer reading with one decimal: `84,198.0`."""
    return _minus(format_decimal(value, format="#,##0.0", locale=locale_of(locale)))


def span(begin: Decimal | None, end: Decimal | None, locale: str = "") -> str:
    """Return two readings as `84,198.0 to 84,205.2`; `from …` or `to …` where one is missing, else blank."""
    if begin is None or end is None:
        known = tenths(end if begin is None else begin, locale) if begin != end else ""
        return known and f"{'to' if begin is None else 'from'} {known}"
    return f"{tenths(begin, locale)} to {tenths(end, locale)}"


def is_other_year(day: date, today: date | None) -> bool:
    """Whether a day has to say its year: it is not the one of today. None: it is said elsewhere."""
    return today is not None and day.year != today.year


def full_date(day: date, locale: str = "", today: date | None = None) -> str:
    """`Wednesday, October 14`: CLDR's full date without its year; with it where today is in another one."""
    pattern = locale_of(locale).date_formats["full"].pattern
    if not is_other_year(day, today):
        pattern = YEAR.sub("", pattern)
    return format_date(day, pattern, locale=locale_of(locale))


def long_date(day: date, locale: str = "") -> str:
    """`October 14, 2026`."""
    return format_date(day, "long", locale=locale_of(locale))


def day_and_month(day: date, locale: str = "", today: date | None = None) -> str:
    """`October 14`; `October 14, 2025` where today is in another year."""
    if is_other_year(day, today):
        return long_date(day, locale)
    return format_skeleton("MMMMd", day, locale=locale_of(locale))


def brief_date(day: date, locale: str = "", today: date | None = None) -> str:
    """`Oct 19`; `Oct 19, 2025` where today is in another year."""
    if is_other_year(day, today):
        return medium_date(day, locale)
    return format_skeleton("MMMd", day, locale=locale_of(locale))


def short_date(day: date, locale: str = "", today: date | None = None) -> str:
    """`Mon, Oct 19`; `Oct 19, 2025` where today is in another year."""
    if is_other_year(day, today):
        return medium_date(day, locale)
    return format_skeleton("MMMEd", day, locale=locale_of(locale))


def medium_date(day: date, locale: str = "") -> str:
    """`Oct 19, 2026`."""
    return format_date(day, "medium", locale=locale_of(locale))


def from_to(first: date | None, last: date | None, locale: str = "") -> str:
    """`From Jun 1, 2026 to Jul 31, 2026`; only what there is, blank where it is open both ways."""
    days = (("from", first), ("to", last))
    return capfirst(" ".join(f"{word} {medium_date(day, locale)}" for word, day in days if day))


def month_name(day: date, locale: str = "") -> str:
    """`October 2026`."""
    return format_skeleton("yMMMM", day, locale=locale_of(locale))


def short_month(day: date, locale: str = "") -> str:
    """`Oct`."""
    return format_skeleton("MMM", day, locale=locale_of(locale))


def clock(at: time, locale: str = "") -> str:
    """`10:25` or `10:25 AM`."""
    return format_time(at, "short", locale=locale_of(locale))


def parse_number(text: str, locale: str = "") -> Decimal:
    """Return the number that was typed in the reader's locale, or plainly with a point.

    Raises ValueError for anything else, and where a mark could mean two things.
    """
    tag = locale_of(locale)
    text = text.strip().replace("\u00a0", " ").replace("\u202f", " ").replace(MINUS, "-")
    if not PLAIN_NUMBER.fullmatch(text):
        raise ValueError(f"not a number: {text!r}")
    if re.fullmatch(r"-?[0-9]*\.?[0-9]+", text) and _reads_the_same(text, tag):
        return Decimal(text)
    group = get_group_symbol(tag)
    if group in ("\u00a0", "\u202f"):
        text = text.replace(" ", group)
    try:
        return parse_decimal(text, locale=tag, strict=True)
    except NumberFormatError as error:
        raise ValueError(f"not a number: {text!r}") from error


def _reads_the_same(text: str, tag: Locale) -> bool:
    """Whether a point in plain notation cannot be this locale's thousands mark: `12.5`, never `1.250`."""
    return (
        "." not in text or get_decimal_symbol(tag) == "." or not re.fullmatch(r"-?[0-9]{1,3}\.[0-9]{3}", text)
    )


def counted(number: int, one: str, many: str = "", locale: str = "") -> str:
    """Return a number with its noun: `1 horse`, `3 horses`; `many` where an s does not make the plural."""
    return f"{quantity(Decimal(number), locale)} {one if number == 1 else many or one + 's'}"


def listed(names: Iterable[str]) -> str:
    """Return names as a sentence lists them: `Bramble`, `Bramble and Juno`, `Bramble, Juno, and Sorrel`."""
    return format_list([*map(str, names)], locale="en_US")


def first_of(names: Sequence[str], most: int) -> list[str]:
    """Return so many names, then how many others there are: `Bramble`, `Juno`, `2 more`."""
    more = len(names) - most
    return [*names[:most], f"{more} more"] if more > 0 else list(names)


def days_over(days: int) -> str:
    """Say how far past its date something is: `7 days overdue`, `today`, `in 12 days`."""
    if days == 0:
        return "today"
    if days > 0:
        return f"{counted(days, 'day')} overdue"
    return "tomorrow" if days == -1 else f"in {-days} days"


def stamp(moment: datetime, locale: str = "") -> str:
    return f"{medium_date(moment.date(), locale)}, {clock(moment.time(), locale)}"
