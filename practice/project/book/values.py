"""The kinds of value that a column holds: read strictly, written plainly."""

import re
import uuid
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from decimal import Decimal

from babel import Locale
from babel.numbers import is_currency

from practice.lib.characters import shown
from practice.lib.formats import is_language
from practice.lib.millionths import LARGEST
from practice.lib.money import minor_digits

DECIMAL = re.compile(r"-?[0-9]{1,15}(\.[0-9]+)?")
WHOLE = re.compile(r"[0-9]{1,9}")
DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
TIME = re.compile(r"[0-9]{2}:[0-9]{2}")
FIRST_YEAR, LAST_YEAR = 1900, 2999


class Unreadable(ValueError):
    """A value that a column cannot hold; the message says what was expected."""


@dataclass(frozen=True)
class ColumnType:
    """Text as it is. `read` gets text that is not blank and has no character that the book cannot hold."""

    def read(self, text: str):
        return text

    def write(self, value) -> str:
        return str(value)


@dataclass(frozen=True)
class Limited(ColumnType):
    """Text up to a length."""

    length: int

    def read(self, text: str):
        if len(text) > self.length:
            raise Unreadable(f"is too long: {len(text)} characters, at most {self.length} are allowed")
        return super().read(text)


@dataclass(frozen=True)
class Choice(ColumnType):
    values: Sequence[str]

    def read(self, text: str):
        if text not in self.values:
            raise Unreadable(f'"{shown(text)}" is not one of {", ".join(self.values)}')
        return text


@dataclass(frozen=True)
class YesNo(ColumnType):
    def read(self, text: str):
        if text not in ("yes", "no"):
            raise Unreadable(f'"{shown(text)}" is not yes or no')
        return text == "yes"

    def write(self, value) -> str:
        return "yes" if value else "no"


@dataclass(frozen=True)
class DateType(ColumnType):
    """A day of the years that a book can hold; `for_ever` also takes 9999-12-31."""

    for_ever: bool = False

    def read(self, text: str):
        try:
            day = date.fromisoformat(text) if DATE.fullmatch(text) else None
        except ValueError:
            day = None
        if day is None:
            raise Unreadable(f'"{shown(text)}" is not a date such as 2026-10-14')
        if not FIRST_YEAR <= day.year <= LAST_YEAR and not (self.for_ever and day == date.max):
            raise Unreadable(f"{text} is not a day of the years {FIRST_YEAR} to {LAST_YEAR}")
        return day

    def write(self, value) -> str:
        return value.isoformat()


@dataclass(frozen=True)
class TimeOfDay(ColumnType):
    def read(self, text: str):
        try:
            if TIME.fullmatch(text):
                return time.fromisoformat(text)
        except ValueError:
            pass
        raise Unreadable(f'"{shown(text)}" is not a time such as 09:30')

    def write(self, value) -> str:
        return f"{value:%H:%M}"


@dataclass(frozen=True)
class Timestamp(ColumnType):
    """A moment to the second: ISO 8601 with its offset, written in UTC."""

    def read(self, text: str):
        try:
            moment = datetime.fromisoformat(text)
        except ValueError:
            moment = None
        if moment is None or moment.tzinfo is None:
            raise Unreadable(f'"{shown(text)}" is not a date and time such as 2026-10-14T18:05:00+00:00')
        # The first and the last year of the calendar would leave it in another time zone.
        if not FIRST_YEAR <= moment.year <= LAST_YEAR:
            raise Unreadable(f"{shown(text)} is not of the years {FIRST_YEAR} to {LAST_YEAR}")
        return moment.replace(microsecond=0)

    def write(self, value) -> str:
        return value.astimezone(UTC).isoformat(timespec="seconds")


@dataclass(frozen=True)
class Uuid(ColumnType):
    """A UUID in its usual form."""

    def read(self, text: str):
        value = as_uuid(text)
        if value is None:
            raise Unreadable(f'"{shown(text)}" is not a UUID')
        return value


@dataclass(frozen=True)
class Whole(ColumnType):
    low: int = 0
    high: int = 999_999_999

    def read(self, text: str):
        if not (WHOLE.fullmatch(text) and text.isascii() and self.low <= int(text) <= self.high):
            raise Unreadable(f'"{shown(text)}" is not a whole number from {self.low} to {self.high}')
        return int(text)


@dataclass(frozen=True)
class Number(ColumnType):
    """A decimal with a point, at most `places` decimals, from `low` (above it where `above`) to `high`.

    It is always below `limit`, up or down.
    """

    places: int = 6
    low: Decimal | None = None
    high: Decimal | None = None
    above: bool = False
    limit: int | Decimal = LARGEST

    def read(self, text: str):
        if not DECIMAL.fullmatch(text) or not text.isascii():
            raise Unreadable(f'"{shown(text)}" is not a number such as 12.5')
        value = Decimal(text)
        if -value.as_tuple().exponent > self.places:
            raise Unreadable(f'"{shown(text)}" has more than {self._places()}')
        if abs(value) >= self.limit:
            raise Unreadable(f'"{shown(text)}" is too large: it has to be below {self.limit:,}')
        if self.low is not None and (value < self.low or (self.above and value == self.low)):
            raise Unreadable(f'"{shown(text)}" is not {"above" if self.above else "at least"} {self.low}')
        if self.high is not None and value > self.high:
            raise Unreadable(f'"{shown(text)}" is more than {self.high}')
        return value

    def _places(self) -> str:
        return {0: "0 decimals", 1: "one decimal"}.get(self.places, f"{self.places} decimals")

    def write(self, value) -> str:
        text = f"{value:f}"
        text = text.rstrip("0").rstrip(".") if "." in text else text
        return "0" if text in ("-0", "") else text


@dataclass(frozen=True)
class Amount(Number):
    """Money: read and written with the decimals of its currency."""

    currency: str = "USD"

    def read(self, text: str):
        value = super().read(text)
        digits = minor_digits(self.currency)
        if -value.as_tuple().exponent > digits:
            raise Unreadable(f'"{shown(text)}" has too many decimals for {self.currency} (at most {digits})')
        return value

    def write(self, value) -> str:
        return f"{value:.{minor_digits(self.currency)}f}"


@dataclass(frozen=True)
class LanguageTag(ColumnType):
    """A BCP 47 language tag that CLDR knows."""

    def read(self, text: str):
        if not is_language(text):
            raise Unreadable(f'"{shown(text)}" is not a language such as en-US')
        return text


@dataclass(frozen=True)
class CurrencyCode(ColumnType):
    def read(self, text: str):
        if not (re.fullmatch("[A-Z]{3}", text) and is_currency(text)):
            raise Unreadable(f'"{shown(text)}" is not a currency such as USD')
        return text


@dataclass(frozen=True)
class CountryCode(ColumnType):
    def read(self, text: str):
        if not re.fullmatch("[A-Z]{2}", text) or text not in Locale("en").territories:
            raise Unreadable(f'"{shown(text)}" is not a country such as US')
        return text


@dataclass(frozen=True)
class RefOf(ColumnType):
    """The ref of a row in another file."""

    file: str


@dataclass(frozen=True)
class OwnRef(Limited):
    """The writer's own key of a row: a ref, or the UUID of one that was not given."""

    length: int = 200


def as_uuid(text: str) -> uuid.UUID | None:
    """Return text that is a UUID in its usual form as one."""
    try:
        value = uuid.UUID(text)
    except ValueError:
        return None
    return value if str(value) == text else None
