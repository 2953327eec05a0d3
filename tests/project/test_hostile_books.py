"""Book folders that are broken or hostile: an import says where, ends 2, and neither crashes nor hangs."""

import csv
import json
import os
import random
import shutil
from dataclasses import dataclass
from pathlib import Path

import pytest
from django.core.management import CommandError
from django.db import transaction

from billing.actions.receipts import keep_receipt
from practice.actions.photos import keep_photos
from practice.project.book.columns import BookColumn
from practice.project.book.exporter import export_book
from practice.project.book.files import files
from practice.project.book.importer import import_book
from practice.project.book.values import (
    ColumnType,
    DateType,
    Number,
    RefOf,
    TimeOfDay,
    Timestamp,
    Uuid,
    Whole,
)
from tests.pictures import PDF, photo
from tests.processes import run_here
from tests.project.small_book import write_small_book
from tests.project.test_book_errors import complaints, put

SEED, CASES = 20261127, 40
ANYWHERE = [
    "",
    " ",
    "\x00",
    "\x07bell",
    "\x1b[2J",
    "a\u0085b",
    "\ufffe",
    "x" * 300,
    "é" * 200,
    '"',
    "=1+1",
    "\u202e",
]
HOSTILE = {
    Number: [
        "999999999999",
        "9223372036853",
        "9223372036854.775807",
        "999999999",
        "999999999.999999",
        "-999999999",
    ]
    + [
        "1000000000",
        "0.000001",
        "0",
        "-0",
        "0.0000001",
        "1e99",
        "NaN",
        "Infinity",
        "٣",
        "9" * 5000,
        "1." + "0" * 5000,
    ]
    + ["100000000000", "123456.7", "-1", "99.99"],
    Whole: ["0", "1", "999999999", "1000000000", "²", "9" * 5000, "-1", "9999", "2999"],
    DateType: [
        "0001-01-01",
        "9999-12-31",
        "1900-01-01",
        "2999-12-31",
        "2026-02-30",
        "0000-00-00",
        "2026-10-14",
    ]
    + ["2024-02-29", "2026-08-31", "20261014", "٢٠٢٦-10-14"],
    TimeOfDay: ["24:00", "00:00", "23:59", "9:5", "٠٩:٣٠"],
    Timestamp: [
        "0001-01-01T00:00:00+14:00",
        "9999-12-31T23:59:59-14:00",
        "2026-10-14T18:05:00+23:59",
        "2026-10-14",
    ]
    + ["2026-10-14T18:05:00+00:00:01.5", "2026-W42-3T18:05:00Z", "1900-01-01T00:00:00+14:00"]
    + ["2999-12-31T23:59:59-14:00"],
    Uuid: ["{8d6f2b1e-52cf-4a37-9b34-0a6b5f7d1c22}", "0" * 5000, "00000000-0000-0000-0000-000000000000"],
    RefOf: ["p99", "barn", "truck", "ann", "juniper", "v2", "A2", "shop"],
    ColumnType: [
        "practice.csv",
        "../../etc/passwd",
        ".",
        "..",
        "/dev/zero",
        "ann",
        "trim",
        "A1",
        "5;5",
        ";",
        "-1",
    ],
}


@dataclass
class Table:
    """A file of a folder: its columns in the order of its header, and its rows."""

    columns: list[BookColumn]
    rows: list[list[str]]


def read_tables(folder: Path) -> dict[str, Table]:
    known = {file.name: file for file in files()}
    tables = {}
    for path in sorted(folder.glob("*.csv")):
        with path.open(newline="", encoding="utf-8") as file:
            header, *rows = csv.reader(file)
        tables[path.name] = Table([known[path.name].by_name[name] for name in header], rows)
    return tables


def hostile_cell(column: BookColumn, taken: random.Random) -> str:
    of_kind = next(values for kind, values in HOSTILE.items() if isinstance(column.kind, kind))
    values = getattr(column.kind, "values", None)
    return taken.choice([taken.choice(of_kind), taken.choice(of_kind), taken.choice(values or ANYWHERE)])


def mutated(tables: dict[str, Table], taken: random.Random) -> dict[str, list[list[str]]]:
    """Return the rows of the files, header first, with one to three cells or rows changed."""
    changed = {
        name: [[c.name for c in table.columns], *map(list, table.rows)] for name, table in tables.items()
    }
    filled = [name for name, table in tables.items() if table.rows]
    for _ in range(taken.choice([1, 1, 1, 2, 3])):
        name = taken.choice(filled)
        rows, columns = changed[name], tables[name].columns
        row = taken.randrange(1, len(rows)) if len(rows) > 1 else 0
        what = taken.random()
        if what < 0.8 and row:
            column = taken.randrange(len(columns))
            rows[row][column] = hostile_cell(columns[column], taken)
        elif what < 0.9:
            rows.append(list(rows[row]))
        elif row:
            del rows[row]
    return changed


def write_tables(folder: Path, changed: dict[str, list[list[str]]]) -> None:
    for name, rows in changed.items():
        with (folder / name).open("w", newline="", encoding="utf-8") as file:
            csv.writer(file, lineterminator="\r\n").writerows(rows)


@pytest.fixture(scope="module")
def small_book(django_db_setup, django_db_blocker, tmp_path_factory):
    """The export of a small book with rows in every file of the contract."""
    folder = tmp_path_factory.mktemp("small")
    with django_db_blocker.unblock(), transaction.atomic():
        report = import_book(write_small_book(folder / "by hand"))
        assert [str(problem) for problem in report.problems] == []
        keep_photos([photo()])
        keep_receipt(PDF)  # an import saves its files once the book is, which this one never is
        export_book(folder / "book")
        transaction.set_rollback(True)
    return folder / "book"


@pytest.mark.django_db
def test_the_small_book_has_a_row_in_every_file(small_book):
    tables = read_tables(small_book)

    assert [name for name, table in tables.items() if not table.rows] == []
    assert set(tables) == {file.name for file in files()}


@pytest.mark.django_db
@pytest.mark.parametrize("within", ["an empty book", "the book itself"])
def test_whatever_stands_in_a_cell_the_import_takes_it_or_says_where(within, small_book, tmp_path, capfd):
    first, cases = int(os.environ.get("SEED", SEED)), int(os.environ.get("CASES", CASES))
    tables, folder = read_tables(small_book), tmp_path / "book"
    shutil.copytree(small_book, folder)
    if within == "the book itself":
        assert complaints(folder) == []
    surprises = []
    for seed in range(first, first + cases):
        write_tables(folder, mutated(tables, random.Random(seed)))
        surprises += [f"seed {seed}: {surprise}" for surprise in surprises_of_an_import(folder, capfd)]
    assert surprises == []


def surprises_of_an_import(folder: Path, capfd) -> list[str]:
    """Return what `import_book --check` did but to take the folder, or to refuse it and say where."""
    try:
        run_here("import_book", str(folder), "--check", "--json")
        refused = False
    except CommandError:
        refused = True
    except Exception as error:  # it would end with 1
        return [f"{type(error).__name__}: {error}"]
    errors = json.loads(capfd.readouterr().out)["errors"]
    if bool(errors) != refused:
        return [f"refused: {refused}, but the errors are {errors}"]
    return [f"no line: {error}" for error in errors if not error["line"] and not is_unlisted(error)]


def is_unlisted(error: dict) -> bool:
    """Whether it is about a file that no row names, and so has no line."""
    return error["file"].startswith("files/") and error["message"] == "is not listed in files.csv"


PUT_INTO = {
    "a pipe": lambda path: os.mkfifo(path),
    "a folder": lambda path: path.mkdir(),
    "a link to itself": lambda path: path.symlink_to(path),
    "a link to a device without an end": lambda path: path.symlink_to("/dev/zero"),
    "a link that leads nowhere": lambda path: path.symlink_to("nothing"),
}


@pytest.mark.django_db
@pytest.mark.parametrize("name", ["clients.csv", "practice.csv"])
@pytest.mark.parametrize("what", PUT_INTO)
def test_what_is_no_file_is_named_and_not_waited_for(what, name, tmp_path):
    folder = put(tmp_path / "book")
    (folder / name).unlink()
    PUT_INTO[what](folder / name)

    assert f"{name}: is not a regular file" in complaints(folder)


@pytest.mark.django_db
@pytest.mark.parametrize("what", PUT_INTO)
def test_a_receipt_that_is_no_file_is_named_and_not_waited_for(what, tmp_path):
    expense = "ref,date,category,amount\ne1,2026-10-07,office,5\n"
    folder = put(
        tmp_path / "book", expenses_csv=expense, files_csv="name,what,expense\nbill.pdf,receipt,e1\n"
    )
    (folder / "files").mkdir()
    PUT_INTO[what](folder / "files" / "bill.pdf")

    assert complaints(folder) == ['files.csv:2: name: "bill.pdf" is not in the folder files']


@pytest.mark.django_db
def test_a_name_that_a_terminal_would_obey_is_shown_in_letters(tmp_path):
    folder = put(tmp_path / "book")
    (folder / "red\x1b[31m.csv").touch()
    (folder / os.fsdecode(b"caf\xe9.csv")).touch()

    assert complaints(folder) == [
        "caf\\udce9.csv: is not a file of the book",
        "red\\x1b[31m.csv: is not a file of the book",
    ]
