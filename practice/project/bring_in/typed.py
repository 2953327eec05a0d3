"""Reading what people type into the cells of a spreadsheet: days, numbers, yes or no. Pure, on text."""

import re
import unicodedata
from collections.abc import Iterable
from datetime import date
from decimal import Decimal
from functools import cache

from babel import Locale

from practice.lib import formats
from practice.lib.millionths import LARGEST
from practice.lib.names import plain_name
from practice.lib.shares import share_out
from practice.project.find import folding

# The order of day, month and year in a date of figures alone.
YEAR_FIRST = "ymd"
FIGURES = re.compile(r"(\d{1,4})\s?[./\-\s]\s?(\d{1,2})\s?[./\-\s]\s?(\d{1,4})\.?")
CLOCK = re.compile(
    r"[T,\s]+\d{1,2}:\d{2}(:\d{2}(\.\d+)?)?\s*([ap]\.?m\.?)?\s*(Z|[+-]\d{2}:?\d{2})?$", re.IGNORECASE
)
WORDS = re.compile(r"[^\W\d_]+")
NUMBERS = re.compile(r"\d+")
IN_BRACKETS = re.compile(r"\((.*)\)")
AROUND = re.compile(r"^[A-Za-z]{1,3}\s*(?=[\d.,(\-−])|(?<=[\d.,)])\s*[A-Za-z]{1,3}\.?$")
YES = {"yes", "y", "true", "x", "✓", "✔", "1", "on"}
NO = {"no", "n", "false", "0", "-", "off"}


class NotRead(ValueError):
    """A text that is not what its column holds; the message says what to type."""


def folded(name: str) -> str:
    """Return a name as people compare names: as the search does, and one of signs alone as it is."""
    return folding.folded(name) or plain_name(name)


@cache
def order_of(locale: str) -> str:
    """Return the order in which a locale writes dates of figures: `mdy`, `dmy`, `ymd` (CLDR, Babel)."""
    pattern = formats.locale_of(locale).date_formats["short"].pattern.lower()
    return "".join(sorted(YEAR_FIRST, key=pattern.index))


def order_of_days(texts: Iterable[str], locale: str) -> str:
    """Return the order of a whole column of dates: the locale's, or another one where only that one fits.

    So a book in American English reads `14/10/2026` day first, with all other dates of the column.
    """
    figures = [match for text in texts if (match := FIGURES.fullmatch(_without_clock(text)))]
    own = order_of(locale)
    for order in dict.fromkeys((own, "mdy", "dmy")):
        if all(_day_of_figures(match, order) for match in figures):
            return order
    return own


def read_day(text: str, locale: str, order: str) -> date:
    """Return a day: 2026-10-14, figures in this order, or with the month's name. Raises NotRead."""
    example = formats.medium_date(date(2026, 10, 14), locale)
    text = _without_clock(text)
    if figures := FIGURES.fullmatch(text):
        day = _day_of_figures(figures, order)
    else:
        day = _day_in_words(text, formats.locale_of(locale))
    if day is None:
        raise NotRead(f"Type a date such as {example}, or 2026-10-14.")
    return day


def _without_clock(text: str) -> str:
    return CLOCK.sub("", text.strip())


def _day_of_figures(match: re.Match, order: str) -> date | None:
    first, _, last = match.groups()
    order = YEAR_FIRST if len(first) > 2 else order
    parts = dict(zip(order, match.groups(), strict=True))
    if len(last) == 3 or len(parts["d"]) > 2:
        return None
    return _day(parts["y"], int(parts["m"]), int(parts["d"]))


def _day(year: str, month: int, day: int) -> date | None:
    """Return a day, None for one that is not in the calendar.

    A year of two figures is one from 1969 to 2068 (POSIX.1-2017, `strptime`, `%y`).
    """
    number = int(year)
    if len(year) <= 2:
        number += 1900 if number > 68 else 2000
    try:
        return date(number, month, day)
    except ValueError:
        return None


def _day_in_words(text: str, locale: Locale) -> date | None:
    """Return a day with the name of its month, in the locale's language or in English."""
    months = {month for word in WORDS.findall(text) if (month := _months(str(locale)).get(folded(word)))}
    numbers = NUMBERS.findall(text)
    if len(months) != 1 or len(numbers) != 2:
        return None
    [month] = months
    day, year = numbers if len(numbers[0]) <= 2 else reversed(numbers)
    return _day(year, month, int(day)) if len(year) in (2, 4) else None


@cache
def _months(locale: str) -> dict[str, int]:
    found = {"sept": 9}
    for tag in ("en", locale):
        for width in ("wide", "abbreviated"):
            for context in ("format", "stand-alone"):
                names = Locale.parse(tag).months[context][width]
                found |= {folded(name.rstrip(".")): number for number, name in names.items()}
    return found


def read_number(text: str, locale: str, example: str = "12.5") -> Decimal:
    """Return a number or an amount, with a currency, a percent sign, or in brackets where it is below zero.

    Raises NotRead.
    """
    bare = "".join(letter for letter in text if unicodedata.category(letter) != "Sc").replace("%", "").strip()
    sign = 1
    if bracketed := IN_BRACKETS.fullmatch(bare):
        bare, sign = bracketed[1], -1
    bare = AROUND.sub("", bare.strip()).strip()
    try:
        number = sign * formats.parse_number(bare, locale)
    except ValueError:
        shown = example.replace(".", formats.decimal_mark(locale))
        raise NotRead(f"Type a number such as {shown}.") from None
    if abs(number) >= LARGEST:
        raise NotRead("This number is too large. Check what you typed.")
    return number


def read_whole(text: str, low: int, high: int) -> int:
    """Return the one whole number in a text: `6`, `6 weeks`, `every 6 wks`. Raises NotRead."""
    numbers = NUMBERS.findall(text)
    if len(numbers) == 1 and len(numbers[0]) <= 9 and not re.search(r"[-−.,]\s*\d|\d\s*[.,]\d", text):
        number = int(numbers[0])
        if low <= number <= high:
            return number
    raise NotRead(f"Type a whole number from {low} to {high}.")


def read_year(text: str, locale: str, order: str) -> int:
    """Return a year, also that of a whole date. Raises NotRead."""
    if re.fullmatch(r"\d{4}", text.strip()):
        return int(text)
    try:
        return read_day(text, locale, order).year
    except NotRead:
        raise NotRead("Type a year such as 2015.") from None


def read_yes_no(text: str) -> bool:
    """Return yes or no. Raises NotRead."""
    word = plain_name(text)
    if word in YES | NO:
        return word in YES
    raise NotRead("Type yes or no.")


SHARE = re.compile(r"(.*?)[\s,(]*(\d{1,3}(?:[.,]\d{1,4})?)\s*%\)?")
BETWEEN_OWNERS = re.compile(r"[;\n]+")


def read_owners(text: str) -> list[tuple[str, Decimal]]:
    """Return the owners in a text with their shares in percent: `Ann Lee 60%; Bob Ray 40%`.

    Where no shares are given they are equal, to a hundredth. Raises NotRead where only some are given.
    """
    parts = [part.strip() for part in BETWEEN_OWNERS.split(text) if part.strip()]
    found = [
        (match[1].strip(), match[2]) if (match := SHARE.fullmatch(part)) else (part, "") for part in parts
    ]
    with_share = [share for _, share in found if share]
    if len(with_share) not in (0, len(found)) or not all(name for name, _ in found):
        raise NotRead("Give each owner a share, or none: Wren Halloway 60%; Odell Marsh 40%.")
    if with_share:
        return [(name, Decimal(share.replace(",", "."))) for name, share in found]
    hundredths = share_out(10_000, [1] * len(found)) if found else []
    return [(name, Decimal(part) / 100) for (name, _), part in zip(found, hundredths, strict=True)]
