"""Reading a folder: every file, every value, every error, before anything is looked up or written."""

import csv
import os
from codecs import getincrementaldecoder
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from sys import intern
from typing import Any, TextIO

from practice.lib.characters import forbidden_in, shown
from practice.lib.formats import counted
from practice.project.book.columns import PRACTICE, BookFile
from practice.project.book.files import files
from practice.project.book.files_folder import FILES_FOLDER
from practice.project.book.values import ColumnType, CurrencyCode, Unreadable, as_uuid

LONGEST_VALUE, LARGEST_FILE = 1_000_000, 500_000_000
csv.field_size_limit(LONGEST_VALUE)
# Bytes looked at in one piece, and cells of a column whose values are kept for those like them.
AT_ONCE, REMEMBERED = 2**20, 4096


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


@dataclass(slots=True, eq=False)
class FolderRow:
    """A row of a file: the line where it begins, its values with defaults filled in, the columns given.

    `values` are in the order of the file's columns; equal ones are one value in memory, as a folder may have
    half a million rows. `source`: where the photo or document lies that it names.
    """

    file: BookFile
    line: int
    values: list[Any]
    given: frozenset[str]
    source: Path | None = None

    def __getitem__(self, column: str):
        return self.values[self.file.place_of[column]]

    def __setitem__(self, column: str, value) -> None:
        self.values[self.file.place_of[column]] = value


def own_key(row: FolderRow) -> dict:
    """Return the ref of a row as its model keeps it: a UUID as the UUID."""
    if "ref" not in row.file.by_name:
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


def read_folder(path: Path, currency: str, progress: Callable[[str], None] = lambda step: None) -> Folder:
    """Read a folder of CSV files; `currency` is the book's, which the folder's practice replaces."""
    folder = Folder(path, currency)
    names = {entry.name for entry in path.iterdir() if not entry.name.startswith(".")}
    folder.currency = _currency_of(path) or currency
    known = {file.name: file for file in files(folder.currency)}
    for name in sorted(names - set(known) - {FILES_FOLDER}):
        folder.complain(shown(name), None, "", "is not a file of the book")
    for name, file in known.items():
        if name in names:
            progress(f"Reading {name}")
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
        if wrong := _not_utf8(path):
            folder.complain(file.name, *wrong)
            return []
        with path.open(newline="", encoding="utf-8-sig") as text:
            return _rows(text, file, folder)
    except OSError as error:
        folder.complain(file.name, None, "", f"cannot be read: {error.strerror}")
        return []


def _not_utf8(path: Path) -> tuple[int, str, str] | None:
    """Return what to complain about the first byte that is not UTF-8: its line, no column, a message."""
    decoder, line = getincrementaldecoder("utf-8")(), 1
    with path.open("rb") as file:
        while True:
            chunk = file.read(AT_ONCE)
            try:
                decoder.decode(chunk, final=not chunk)
            except UnicodeDecodeError as error:
                line += error.object.count(b"\n", 0, error.start)
                return line, "", f"byte 0x{error.object[error.start]:02x} is not UTF-8"
            if not chunk:
                return None
            line += chunk.count(b"\n")


def _rows(text: TextIO, file: BookFile, folder: Folder) -> list[FolderRow]:
    rows, reader, width = [], None, 0
    for line, cells in _records(text, file, folder):
        if reader is None:
            if not _is_header(cells, line, file, folder):
                return []
            reader, width = RowReader(file, cells, folder), len(cells)
        elif len(cells) != width:
            message = f"has {counted(len(cells), 'value')}, but the header has {width}"
            folder.complain(file.name, line, "", message)
        else:
            rows.append(reader.row(cells, line))
    if reader is None:
        folder.complain(file.name, 1, "", "has no header row")
    return rows


def _records(text: TextIO, file: BookFile, folder: Folder) -> Iterator[tuple[int, list[str]]]:
    """Yield (line where it begins, cells); blank lines are skipped. A misplaced quote ends the file."""
    reader = csv.reader(text, strict=True)
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


def _is_header(cells: list[str], line: int, file: BookFile, folder: Folder) -> bool:
    """Whether these are columns of the file, each once, and none is missing; complain about the rest."""
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
    return len(folder.problems) == before


class RowReader:
    """Makes rows of a file from their cells, which stand in the order of its header."""

    def __init__(self, file: BookFile, header: list[str], folder: Folder):
        self.file, self.folder, self.given = file, folder, frozenset(header)
        self.defaults = [column.default for column in file.columns]
        self.columns = [
            (place, header.index(column.name), column, remembering(column.kind))
            for place, column in enumerate(file.columns)
            if column.name in self.given
        ]

    def row(self, cells: list[str], line: int) -> FolderRow:
        """Return a row; what cannot be read is complained about, and the default stands there."""
        values = self.defaults.copy()
        for place, at, column, read in self.columns:
            cell = cells[at]
            if cell == "":
                if column.required:
                    self.folder.complain(self.file.name, line, column.name, "is required but blank")
                continue
            try:
                values[place] = read(cell)
            except Unreadable as error:
                self.folder.complain(self.file.name, line, column.name, str(error))
        return FolderRow(self.file, line, values, self.given)


def remembering(kind: ColumnType) -> Callable[[str], Any]:
    """Return what reads the cells of one column; it gives equal cells the same value.

    It raises Unreadable.
    """

    @lru_cache(REMEMBERED)
    def read(cell: str):
        if found := forbidden_in(cell):
            raise Unreadable(f"contains the character {found}; take it out")
        value = kind.read(cell)
        return intern(value) if type(value) is str else value

    return read
