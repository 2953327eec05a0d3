"""Reading a folder: every file, every value, every error, before anything is looked up or written."""

import csv
import io
import os
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from practice.lib.characters import forbidden_in, shown
from practice.lib.formats import counted
from practice.project.book.columns import PRACTICE, BookFile
from practice.project.book.files import files
from practice.project.book.files_folder import FILES_FOLDER
from practice.project.book.values import CurrencyCode, Unreadable, as_uuid

LONGEST_VALUE, LARGEST_FILE = 1_000_000, 500_000_000
csv.field_size_limit(LONGEST_VALUE)


@dataclass(frozen=True, order=True)
class Problem:
    """An error of the folder. `line` None: the file as a whole; `column` blank: the row as a whole."""

    file: str
    line: int | None
    column: str
    message: str

    def __str__(self):
        where = f"{self.file}:{self.line}" if self.line else self.file
        return f"{where}: {self.column}: {self.message}" if self.column else f"{where}: {self.message}"


@dataclass
class FolderRow:
    """A row of a file: the line where it begins, its values with defaults filled in, the columns given.

    `source`: where the photo or document lies that it names.
    """

    file: BookFile
    line: int
    values: dict[str, Any]
    given: frozenset[str]
    source: Path | None = None

    def __getitem__(self, column: str):
        return self.values[column]


def own_key(row: FolderRow) -> dict:
    """Return the ref of a row as its model keeps it: a UUID as the UUID."""
    if "ref" not in row.values:
        return {}
    own_uuid = as_uuid(row["ref"])
    return {"uuid": own_uuid} if own_uuid else {"ref": row["ref"]}


@dataclass
class Folder:
    """What a folder holds, by file in the order of the contract, and what is wrong with it.

    `unread`: files of which not every row could be read; references to them are not checked.
    `new_files`: the photos and documents to keep once all is written, each with what it is.
    """

    path: Path
    currency: str
    tables: dict[str, list[FolderRow]] = field(default_factory=dict)
    unread: set[str] = field(default_factory=set)
    new_files: list[tuple[str, Path]] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)

    def complain(self, file: str, line: int | None, column: str, message: str) -> None:
        self.problems.append(Problem(file, line, column, message))

    def rows(self, name: str) -> list[FolderRow]:
        return self.tables.get(name, [])


def read_folder(path: Path, currency: str) -> Folder:
    """Read a folder of CSV files; `currency` is the book's, which the folder's practice replaces."""
    folder = Folder(path, currency)
    names = {entry.name for entry in path.iterdir() if not entry.name.startswith(".")}
    folder.currency = _currency_of(path) or currency
    known = {file.name: file for file in files(folder.currency)}
    for name in sorted(names - set(known) - {FILES_FOLDER}):
        folder.complain(shown(name), None, "", "is not a file of the book")
    for name, file in known.items():
        if name in names:
            before = len(folder.problems)
            folder.tables[name] = _read_file(path / name, file, folder)
            if any(not problem.column for problem in folder.problems[before:]) or not folder.tables[name]:
                folder.unread |= {name} if len(folder.problems) > before else set()
    return folder


def _currency_of(path: Path) -> str | None:
    """Return the currency that the folder's practice names, where it can be read."""
    if not os.path.isfile(path / PRACTICE):
        return None
    try:
        with (path / PRACTICE).open(newline="", encoding="utf-8-sig") as file:
            row = next(csv.DictReader(file), {})
            return CurrencyCode().read(row.get("currency") or "")
    except (OSError, UnicodeDecodeError, csv.Error, Unreadable):
        return None


def _read_file(path: Path, file: BookFile, folder: Folder) -> list[FolderRow]:
    # Neither a folder, nor a pipe or a device, which might never end, nor a link that leads nowhere.
    if not os.path.isfile(path):
        folder.complain(file.name, None, "", "is not a regular file")
        return []
    try:
        if path.stat().st_size > LARGEST_FILE:
            folder.complain(file.name, None, "", f"is larger than {LARGEST_FILE // 10**6} MB")
            return []
        content = path.read_bytes()
    except OSError as error:
        folder.complain(file.name, None, "", f"cannot be read: {error.strerror}")
        return []
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        folder.complain(file.name, line, "", f"byte 0x{content[error.start]:02x} is not UTF-8")
        return []
    rows, header = [], None
    for line, cells in _records(text, file, folder):
        if header is None:
            header = _header(cells, line, file, folder)
            if header is None:
                return []
        elif len(cells) != len(header):
            folder.complain(
                file.name, line, "", f"has {counted(len(cells), 'value')}, but the header has {len(header)}"
            )
        else:
            rows.append(_row(dict(zip(header, cells, strict=True)), line, file, folder))
    if header is None:
        folder.complain(file.name, 1, "", "has no header row")
    return rows


def _records(text: str, file: BookFile, folder: Folder):
    """Yield (line where it begins, cells); blank lines are skipped. A misplaced quote ends the file."""
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    begins = 1
    while True:
        try:
            cells = next(reader)
        except StopIteration:
            return
        except csv.Error as error:
            wrong = f"is not valid CSV (RFC 4180): {error}"
            if "field larger" in str(error):
                wrong = f"has a value of more than {LONGEST_VALUE:,} characters"
            folder.complain(file.name, begins, "", wrong)
            return
        if cells:
            yield begins, cells
        begins = reader.line_num + 1


def _header(cells: list[str], line: int, file: BookFile, folder: Folder) -> list[str] | None:
    known = file.by_name
    before = len(folder.problems)
    for name in dict.fromkeys(cells):
        if name not in known:
            folder.complain(file.name, line, shown(name), f"is not a column of {file.name}")
        elif cells.count(name) > 1:
            folder.complain(file.name, line, name, "appears twice in the header")
    for column in file.columns:
        if column.required and column.name not in cells:
            folder.complain(file.name, line, column.name, "is required but missing")
    return cells if len(folder.problems) == before else None


def _row(cells: dict[str, str], line: int, file: BookFile, folder: Folder) -> FolderRow:
    values = {}
    for column in file.columns:
        cell = cells.get(column.name, "")
        values[column.name] = column.default
        if cell == "":
            if column.required:
                folder.complain(file.name, line, column.name, "is required but blank")
            continue
        if found := forbidden_in(cell):
            folder.complain(file.name, line, column.name, f"contains the character {found}; take it out")
            continue
        try:
            values[column.name] = column.kind.read(cell)
        except Unreadable as error:
            folder.complain(file.name, line, column.name, str(error))
    return FolderRow(file, line, values, frozenset(cells))
