"""What a column and a file of the book are; import and export both use it."""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from practice.lib.millionths import LIMIT
from practice.project.book.streams import in_stream
from practice.project.book.values import (
    ColumnType,
    DateType,
    Limited,
    Number,
    OwnRef,
    RefOf,
    Whole,
    YesNo,
)

TEXT, DAY, YES_NO = ColumnType(), DateType(), YesNo()
# What the book worked out may be larger than anything that is typed.
ANY = Number(limit=LIMIT)
NAME, SHORT, LINE, REASON = Limited(200), Limited(60), Limited(100), Limited(300)
MAIL = Limited(254)
NOT_NEGATIVE, POSITIVE = Number(low=Decimal(0)), Number(low=Decimal(0), above=True)
NUMBER = Number()
PERCENT = Number(low=Decimal(0), high=Decimal(100))
TENTHS = Number(places=1, low=Decimal(0))
DAYS = Whole(0, 9999)
ZERO, ONE = Decimal(0), Decimal(1)


@dataclass(frozen=True)
class BookColumn:
    """A column: its kind, whether it is required, what a blank means, and where its value comes from."""

    name: str
    kind: ColumnType
    required: bool = False
    default: Any = None
    get: Callable[[Any], Any] | None = None

    def of(self, row) -> Any:
        """Return the value that a row of the book has here; refs are keys."""
        return self.get(row) if self.get else getattr(row, self.name)

    def write(self, value) -> str:
        return "" if value is None or value == "" else self.kind.write(value)


@dataclass(frozen=True)
class BookFile:
    """A file of the book. `known_by` says which columns tell that a row is in the book already.

    `updates`: a known row with other content replaces it, elsewhere it is an error. Without
    `known_by` rows count as copies; a blank in a column of `filled_in` is whatever the book has
    there. `rows` gives the book's rows in order of entry; `stream` gives them to go through once.
    """

    name: str
    columns: tuple[BookColumn, ...]
    rows: Callable[[], Iterable]
    known_by: tuple[str, ...] = ()
    updates: bool = False
    filled_in: tuple[str, ...] = ()
    by_name: dict[str, BookColumn] = field(init=False, compare=False)
    place_of: dict[str, int] = field(init=False, compare=False)

    def __post_init__(self):
        object.__setattr__(self, "by_name", {column.name: column for column in self.columns})
        object.__setattr__(self, "place_of", {name: place for place, name in enumerate(self.by_name)})

    def stream(self) -> Iterator:
        """Yield the rows of the book in order of entry, without holding them all."""
        yield from in_stream(self.rows())

    def values(self, row) -> tuple:
        """Return a row of the book as values in the order of the columns."""
        return tuple(column.of(row) for column in self.columns)

    def pointing(self) -> list[tuple[int, str]]:
        """Return the columns that hold refs: their place, and the file that they point to."""
        kinds = [(place, column.kind) for place, column in enumerate(self.columns)]
        return [(place, kind.file) for place, kind in kinds if isinstance(kind, RefOf)]


def text(name: str, kind: ColumnType = TEXT, required: bool = False, get=None) -> BookColumn:
    return BookColumn(name, kind, required, "", get)


def yes_no(name: str, default: bool = False) -> BookColumn:
    return BookColumn(name, YES_NO, default=default)


def own_ref() -> BookColumn:
    return BookColumn("ref", OwnRef(), required=True, get=lambda row: row.key)


def ref(name: str, file: str, required: bool = False, get=None) -> BookColumn:
    """Return a column that points to a row of another file."""

    def key(row):
        pointed = getattr(row, name)
        return pointed.key if pointed else None

    return BookColumn(name, RefOf(file), required, None, get or key)


def dated(name: str, attribute: str, required: bool = False) -> BookColumn:
    kind = DateType(for_ever=name == "to")
    return BookColumn(name, kind, required, None, lambda row: getattr(row, attribute))


def through(path: str) -> Callable[[Any], Any]:
    """Return a getter along relations, `movement.item.key`; None where a step is missing."""
    steps = path.split(".")

    def get(row):
        for step in steps:
            row = getattr(row, step) if row is not None else None
        return row

    return get


PRACTICE = "practice.csv"
LATITUDE = Number(low=Decimal(-90), high=Decimal(90))
LONGITUDE = Number(low=Decimal(-180), high=Decimal(180))
