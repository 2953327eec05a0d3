"""What is in the book of a copy, and what the book of today has beyond it."""

import sqlite3
from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import asdict, dataclass
from datetime import date

from django.db import connection

# What a reader counts in a book, by its name: the table, and what tells one row from another. A ref that was
# not given is blank; then the UUID does.
COUNTED = {
    "clients": ("practice_client", ("ref", "uuid")),
    "horses": ("practice_horse", ("ref", "uuid")),
    "visits": ("practice_visit", ("ref", "uuid")),
    "invoices": ("billing_invoice", ("number",)),
    "payments": ("billing_payment", ("ref", "uuid")),
}
PRACTICE, VISITS, DONE = "practice_profile", "practice_visit", "done"
LONGEST_NAME = 200


@dataclass(frozen=True)
class BookCounts:
    """What is in a book: the practice's name, how many of each, and the last day with a stop that is done."""

    practice: str
    last_day: str  # YYYY-MM-DD, blank where there is none
    clients: int
    horses: int
    visits: int
    invoices: int
    payments: int

    def as_json(self) -> dict:
        return asdict(self)

    @classmethod
    def from_json(cls, given: object) -> "BookCounts | None":
        """Return what a list of files says; None where it does not say it, or in no way that can be read."""
        if not isinstance(given, dict):
            return None
        try:
            texts = [str(given[name]) for name in ("practice", "last_day")]
            numbers = [int(given[name]) for name in COUNTED]
            if texts[1]:
                date.fromisoformat(texts[1])
        except (LookupError, TypeError, ValueError, OverflowError):
            return None
        return cls(texts[0][:LONGEST_NAME], texts[1], *numbers)


@dataclass(frozen=True)
class BookRows:
    """The rows that a reader counts in a book: what tells each from the others, by their name."""

    practice: str
    last_day: str
    keys: dict[str, frozenset[str]]

    @property
    def counts(self) -> BookCounts:
        counted = {name: len(keys) for name, keys in self.keys.items()}
        return BookCounts(self.practice, self.last_day, **counted)

    def beyond(self, copy: "BookRows") -> dict[str, int]:
        """Return how many rows are here and not in a copy, by name."""
        return {name: len(self.keys[name] - copy.keys[name]) for name in COUNTED}


def rows_here() -> BookRows:
    """Return the rows of the book of today."""
    with connection.cursor() as cursor:

        def ask(sql: str) -> list[tuple]:
            cursor.execute(sql)
            return cursor.fetchall()

        return _asked(ask)


def rows_in_sqlite(book: sqlite3.Connection) -> BookRows:
    """Return the rows of an open SQLite book. Raises sqlite3.Error where it is none."""
    return _asked(lambda sql: book.execute(sql).fetchall())


def _asked(ask: Callable[[str], list[tuple]]) -> BookRows:
    keys = {
        name: frozenset(_key_of(row) for row in ask(f"SELECT {', '.join(columns)} FROM {table}"))
        for name, (table, columns) in COUNTED.items()
    }
    names = ask(f"SELECT name FROM {PRACTICE}")
    [(last,)] = ask(f"SELECT MAX(date) FROM {VISITS} WHERE status = '{DONE}'")
    return BookRows(str(names[0][0]) if names else "", str(last or ""), keys)


def rows_in_dump(rows: Iterable[tuple[str, dict[str, str]]]) -> BookRows:
    """Return the rows of a dump, given as table and row. Raises LookupError where a column is missing."""
    counted = {table: (name, columns) for name, (table, columns) in COUNTED.items()}
    keys, practice, last = defaultdict(set), "", ""
    for table, row in rows:
        if table == PRACTICE:
            practice = row["name"]
        if table == VISITS and row["status"] == DONE:
            last = max(last, row["date"])
        if table in counted:
            name, columns = counted[table]
            keys[name].add(_key_of([row[column] for column in columns]))
    return BookRows(practice, last, {name: frozenset(keys[name]) for name in COUNTED})


def _key_of(values: Iterable) -> str:
    """Return the first of these values that is not blank."""
    return next(plain_key(value) for value in values if value != "")


def plain_key(key: object) -> str:
    """Return a key in one spelling: SQLite has a UUID without dashes, PostgreSQL with them."""
    text = str(key)
    return text.replace("-", "") if len(text) == 36 else text
