"""From the rows of a sheet to rows of the book: names found or made, what is in the book kept or changed."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import Any

from practice.lib.profile import Profile
from practice.project.bring_in import known
from practice.project.bring_in.contract_rows import ContractRow, ContractRows, made_key
from practice.project.bring_in.known import KnownNames, told_apart
from practice.project.bring_in.rows import CellProblem, RowReading, SheetReading, is_total
from practice.project.bring_in.typed import folded
from practice.project.bring_in.uploads import Upload

FILL, REPLACE, KEEP = "fill", "replace", "keep"
SOMEONE_NEW = "new"
FILES = {
    known.CLIENT: "clients.csv",
    known.HORSE: "horses.csv",
    known.PLACE: "places.csv",
    known.ITEM: "items.csv",
    known.SUPPLIER: "suppliers.csv",
    known.SERVICE: "services.csv",
}


@dataclass
class Tally:
    """What becomes of the things of one kind: the names of those new, changed, and known as they are."""

    new: list[str] = field(default_factory=list)
    changed: list[str] = field(default_factory=list)
    known: list[str] = field(default_factory=list)

    def __len__(self):
        return len(self.new) + len(self.changed) + len(self.known)


class Translation:
    """What a sheet comes to: rows of the book's files, what is wrong with cells, how many of each thing."""

    def __init__(self, upload: Upload, profile: Profile, today: date):
        self.upload, self.profile, self.today = upload, profile, today
        self.sheet = SheetReading(upload, profile, today)
        self.book = KnownNames(today)
        self.contract = ContractRows(profile.currency)
        self.tallies: dict[str, Tally] = {}
        self.names: dict[str, str] = {}  # what is called how, by its key
        self.at: dict[tuple[str, int], ContractRow] = {}  # the row that begins on each line of a file
        self.visits: set[str] = set()  # those of the past that are made
        self.sums: dict[str, Decimal] = defaultdict(Decimal)
        self.problems: list[CellProblem] = []
        self._made: dict[tuple[str, str], str] = {}
        self._first_row: dict[Any, int] = {}

    def tally(self, what: str) -> Tally:
        return self.tallies.setdefault(what, Tally())

    def option(self, name: str, without: str = "") -> str:
        return self.upload.options.get(name, without)

    def sound_rows(self) -> Iterable[RowReading]:
        """Yield the rows that may be one of the things; sums and examples are refused."""
        for row in self.sheet.rows:
            first = next(iter(self.sheet.columns), "")
            if is_total(row.cells):
                row.refuse(first, "This looks like a total of the rows above.", leave_out=True)
            elif self.sheet.is_example(row):
                row.refuse(first, "This is an example from the template.", leave_out=True)
            else:
                row.refuse_faults()
                yield row
        self.problems = [problem for row in self.sheet.rows for problem in row.problems]

    def is_second(self, row: RowReading, code: str, key: Any) -> bool:
        """Refuse a row of something that stands in an earlier row already; return whether it does."""
        first = self._first_row.setdefault(key, row.number)
        if first != row.number:
            message = (
                f"This is in row {first + 1} already. Leave one of them out, or give them different names."
            )
            row.refuse(code, message, leave_out=True)
        return first != row.number

    def find(self, what: str, name: str, row: RowReading, code: str, rows: list | None = None) -> Any:
        """Return the one row of the book that has this name; None where there is none, or it is a new one.

        Where there are several, the reader is asked which one is meant, and the row is refused until then.
        """
        rows = self.book.of(what, name) if rows is None else rows
        if len(rows) < 2:
            return rows[0] if rows else None
        question = f"{what} {folded(name)}"
        answer = self.upload.answers.get(question)
        chosen = [each for each in rows if each.key == answer]
        if not chosen and answer != SOMEONE_NEW:
            choices = [(f"{question}|{each.key}", told_apart(each)) for each in rows]
            choices.append((f"{question}|{SOMEONE_NEW}", "Another one, not in the book yet"))
            row.refuse(code, f"The book has {len(rows)} named {name}. Which one is it?", tuple(choices))
        return chosen[0] if chosen else None

    def named(self, what: str, name: str, row: RowReading, code: str, **values: str) -> str | None:
        """Return the key of a thing that a cell names; one that the book does not have is made, once.

        `values` are what else is known of it: they fill in what is blank, also in the book. None where the
        name is blank, or it is not clear yet who is meant.
        """
        if not name:
            return None
        found = self.find(what, name, row, code)
        if not row.is_sound:
            return None
        if found is not None:
            if (what, found.key) not in self._made:
                self._made[what, found.key] = found.key
                self.change(what, found, row, values, dict.fromkeys(values, code), FILL)
            return found.key
        if (what, folded(name)) not in self._made:
            key = str(made_key(self.upload.key, what, folded(name)))
            self._made[what, folded(name)] = key
            self.make(what, key, name, row, {"name": name, **values}, {"name": code})
        return self._made[what, folded(name)]

    def put(self, what: str, found: Any, name: str, row: RowReading, values: dict, *more: str) -> str:
        """Add the thing that a row is about, or let the row change the one found in the book; return its key.

        `more`: what tells a new thing from another new one of its name.
        """
        codes = {code: code for code in values} | {"name": "name"}
        if found is not None:
            self.change(what, found, row, values, codes, self.option("known", FILL))
            return found.key
        key = str(made_key(self.upload.key, what, folded(name), *more))
        self.make(what, key, name, row, {"name": name, **values}, codes)
        return key

    def make(self, what: str, key: str, name: str, row: RowReading, values: dict, codes: dict) -> None:
        """Add a new thing under its key."""
        self.names[key] = name
        self.tally(what).new.append(name)
        self.contract.add(FILES[what], row.number, {"ref": key, **values}, codes)

    def change(self, what: str, found: Any, row: RowReading, values: dict, codes: dict, how: str) -> None:
        """Let what the sheet says of something in the book fill in what is blank there, or replace it."""
        self.names[found.key] = found.name
        before = self.contract.as_in_book(FILES[what], found)
        given = {name: text for name, text in values.items() if text and name != "name"}
        if how == FILL:
            given = {name: text for name, text in given.items() if not before[name]}
        after = before | given if how != KEEP else before
        if after == before:
            self.tally(what).known.append(found.name)
        else:
            self.tally(what).changed.append(found.name)
            self.contract.add(FILES[what], row.number, after, codes)

    def add(self, file: str, row: RowReading, values: dict[str, str], codes: dict[str, str]) -> None:
        self.contract.add(file, row.number, values, codes)


def plain(value: date | Decimal | int | None) -> str:
    """Return a value as the book's files write it, blank for None."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int):
        return str(value)
    return value.isoformat() if isinstance(value, date) else f"{value:f}"
