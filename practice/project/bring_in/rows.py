"""A row of a sheet, read cell by cell, with what is wrong with each."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from practice.lib.periods import FIRST_DAY, last_day_in_reach
from practice.lib.profile import Profile
from practice.project.bring_in import typed
from practice.project.bring_in.meanings import SheetKind
from practice.project.bring_in.sheets import FAULTS
from practice.project.bring_in.uploads import Upload

BLANK = "This is blank. Type it, or leave this row out."
FAULT = "Your spreadsheet could not work this out. Type the value."
TOTALS = {"total", "totals", "sum", "subtotal", "grand total", "balance", "all", "count"}


# The option by which a blank place or owner is that of the row above.
FROM_ABOVE, TAKEN_FROM_ABOVE = "above", ("place", "owner")


def is_total(cells: list[str]) -> bool:
    """Whether a row looks like the total of those above it."""
    return typed.folded(next((cell for cell in cells if cell), "")) in TOTALS


@dataclass(frozen=True)
class CellProblem:
    """What is wrong with a cell, by its row and column from 0.

    `choices`: the answers of a question, each with its words; then the cell is answered, not typed anew.
    """

    row: int
    column: int
    message: str
    choices: tuple[tuple[str, str], ...] = ()
    may_leave_out: bool = False


class RowReading:
    """Reads the cells of one row by their meaning, and notes what is wrong with them.

    A value that is blank or wrong is None; `is_sound` tells whether anything was wrong.
    """

    def __init__(self, number: int, cells: list[str], reader: "SheetReading"):
        self.number, self.cells, self.reader = number, cells, reader
        self.problems: list[CellProblem] = []

    @property
    def is_sound(self) -> bool:
        return not self.problems

    def refuse(self, code: str, message: str, choices: tuple = (), leave_out: bool = False) -> None:
        column = self.reader.column_of(code)
        self.problems.append(CellProblem(self.number, column, message, choices, leave_out))

    def text(self, code: str) -> str:
        """Return the text of a meaning, of several columns joined; blank where there is none."""
        columns = self.reader.columns.get(code, ())
        joined_by = self.reader.kind.meaning(code).joined_by or " "
        return joined_by.join(self.cells[column] for column in columns if self.cells[column])

    def refuse_faults(self) -> None:
        """Refuse each cell that has a meaning and that the spreadsheet could not work out."""
        for column in (column for columns in self.reader.columns.values() for column in columns):
            if self.cells[column].upper() in FAULTS:
                self.problems.append(CellProblem(self.number, column, FAULT))

    def needed(self, code: str) -> str:
        """Return the text of a meaning, and refuse a blank one."""
        text = self.text(code)
        if not text:
            self.refuse(code, BLANK)
        return text

    def read(self, code: str, how: Callable[..., Any], *args) -> Any:
        """Return what `how` makes of the text of a meaning; None where it is blank, or refused."""
        text = self.text(code)
        if not text:
            return None
        try:
            return how(text, *args)
        except typed.NotRead as error:
            self.refuse(code, str(error))
            return None

    def day(self, code: str) -> date | None:
        day = self.read(code, typed.read_day, self.reader.locale, self.reader.order_of(code))
        last = last_day_in_reach(self.reader.today)
        if day and not FIRST_DAY <= day <= last:
            self.refuse(code, f"Type a day from {FIRST_DAY.isoformat()} to {last.isoformat()}.")
            return None
        return day

    def past_day(self, code: str) -> date | None:
        day = self.day(code)
        if day and day > self.reader.today:
            self.refuse(
                code,
                f"This day is still ahead. Type today, {self.reader.today.isoformat()}, or an earlier day.",
            )
            return None
        return day

    def number_of(self, code: str, example: str = "12.5") -> Decimal | None:
        return self.read(code, typed.read_number, self.reader.locale, example)

    def whole(self, code: str, low: int, high: int) -> int | None:
        return self.read(code, typed.read_whole, low, high)


class SheetReading:
    """The rows of an upload but those left out, what its columns mean, and how its dates are written."""

    def __init__(self, upload: Upload, profile: Profile, today: date):
        self.upload, self.profile, self.today = upload, profile, today
        self.kind: SheetKind = upload.kind
        self.locale = profile.locale
        self.columns: dict[str, tuple[int, ...]] = {}
        for column in sorted(upload.meanings):
            if column < len(upload.headings):
                code = upload.meanings[column]
                self.columns[code] = (*self.columns.get(code, ()), column)
        rows = {number: cells for number, cells in upload.rows().items() if number not in upload.left_out}
        if upload.options.get(FROM_ABOVE):
            self._take_from_above([cells for cells in rows.values() if not is_total(cells)])
        self.rows = [RowReading(number, cells, self) for number, cells in rows.items()]
        self.examples = self.kind.examples(self.columns, self.locale)
        self._orders: dict[str, str] = {}

    def _take_from_above(self, rows: list[list[str]]) -> None:
        """Fill in what stands once for several rows, as in a sheet with merged cells."""
        for column in (column for code in TAKEN_FROM_ABOVE for column in self.columns.get(code, ())):
            above = ""
            for cells in rows:
                cells[column] = above = cells[column] or above

    def column_of(self, code: str) -> int:
        """Return the first column of a meaning; where it has none, the first that has any meaning."""
        columns = self.columns.get(code)
        return columns[0] if columns else min(self.upload.meanings, default=0)

    def order_of(self, code: str) -> str:
        """Return the order in which the dates of a column are written."""
        if code not in self._orders:
            texts = [row.text(code) for row in self.rows]
            self._orders[code] = typed.order_of_days(texts, self.locale)
        return self._orders[code]

    def is_example(self, row: RowReading) -> bool:
        """Whether a row is an example of the template, as it stands there."""
        return len(self.columns) > 1 and [row.text(code) for code in self.columns] in self.examples
