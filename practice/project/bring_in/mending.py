"""The page of what is wrong: each cell with a field to type it anew, each row with a tick to leave it out."""

import re
from dataclasses import dataclass

from django.http import QueryDict

from practice.project.bring_in.forms import letter_of
from practice.project.bring_in.outlook import Outlook
from practice.project.bring_in.rows import CellProblem
from practice.project.bring_in.sheets import LONGEST_CELL
from practice.project.bring_in.uploads import Upload

# So many rows are shown at once; the others follow once these are right.
MOST_SHOWN = 40
CELL = re.compile(r"(cell|answer)_([0-9]{1,5})_([0-9]{1,3})")
LEFT_OUT = re.compile(r"leave_([0-9]{1,5})")


@dataclass(frozen=True)
class CellToMend:
    """A cell that is wrong: the name of its field, its heading, what stands there, and what is wrong with it.

    With `choices` it is a question, and one of them is the answer.
    """

    name: str
    label: str
    value: str
    message: str
    choices: tuple[tuple[str, str], ...]

    @property
    def is_long(self) -> bool:
        return "\n" in self.value


@dataclass(frozen=True)
class RowToMend:
    """A row with cells that are wrong: its number as the spreadsheet counts, and what else stands in it."""

    number: int
    about: str
    cells: tuple[CellToMend, ...]
    leave_out_name: str
    is_to_leave_out: bool

    @property
    def title(self) -> str:
        return f"Row {self.number}"


def rows_to_mend(outlook: Outlook) -> list[RowToMend]:
    """Return the first rows that have something wrong."""
    upload, rows = outlook.upload, outlook.upload.rows()
    first = list(outlook.problems.items())[:MOST_SHOWN]
    return [_row(upload, number, rows.get(number, []), problems) for number, problems in first]


def _row(upload: Upload, number: int, cells: list[str], problems: list[CellProblem]) -> RowToMend:
    wrong = {problem.column for problem in problems}
    others = [
        " ".join(cells[c].split()) for c in sorted(upload.meanings) if c < len(cells) and c not in wrong
    ]
    return RowToMend(
        number + 1,
        ", ".join(filter(None, others))[:120],
        tuple(_cell(upload, cells, problem) for problem in problems),
        f"leave_{number}",
        any(problem.may_leave_out for problem in problems),
    )


def _cell(upload: Upload, cells: list[str], problem: CellProblem) -> CellToMend:
    heading = upload.headings[problem.column] if problem.column < len(upload.headings) else ""
    return CellToMend(
        f"{'answer' if problem.choices else 'cell'}_{problem.row}_{problem.column}",
        heading[:80] or f"Column {letter_of(problem.column)}",
        cells[problem.column] if problem.column < len(cells) else "",
        problem.message,
        problem.choices,
    )


def mend(upload: Upload, post: QueryDict) -> None:
    """Take over what was typed into the cells of the page, what was answered, and which rows are left out."""
    rows = upload.rows()
    for name, text in post.items():
        if left := LEFT_OUT.fullmatch(name):
            upload.left_out |= {int(left[1])} & rows.keys()
        elif cell := CELL.fullmatch(name):
            _mend_cell(
                upload, rows, cell, text[:LONGEST_CELL].replace("\r\n", "\n").replace("\r", "\n").strip()
            )
    upload.save()


def _mend_cell(upload: Upload, rows: dict[int, list[str]], cell: re.Match, text: str) -> None:
    what, number, column = cell[1], int(cell[2]), int(cell[3])
    if number not in rows or column >= len(rows[number]):
        return
    if what == "answer":
        question, _, answer = text.rpartition("|")
        upload.answers |= {question: answer} if question else {}
    elif text != rows[number][column]:
        upload.mended.setdefault(number, {})[column] = text
