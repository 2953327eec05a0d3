"""The book's own folder as the database of a copy, for a machine without PostgreSQL's programs.

It is brought back by hand, as any such folder: unpacked, and imported into an empty book.
"""

import csv
import io
import zipfile
from pathlib import Path

from django.db import connection, transaction

from practice.project.backup.contents import FOLDER
from practice.project.backup.inside import COUNTED, DONE, BookRows, plain_key, rows_here

# What tells the rows of a file from each other; files are called as what is counted.
KEYS = {name: "number" if name == "invoices" else "ref" for name in COUNTED}


def copy_as_folder(folder: Path) -> Path:
    """Return a ZIP of what `export_book` writes, at one moment. Raises ValueError where rows are missing."""
    from practice.project.book.exporter import export_book

    copy, written = folder / FOLDER, folder / "book"
    with transaction.atomic():
        with connection.cursor() as cursor:
            cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ")
        export_book(written)
        there = rows_here()
    with zipfile.ZipFile(copy, "w", zipfile.ZIP_DEFLATED) as packed:
        for path in sorted(written.rglob("*")):
            if path.is_file():
                packed.write(path, path.relative_to(written).as_posix())
    if rows_in_folder(copy) != there:
        raise ValueError("rows are missing in the folder that was written")
    return copy


def rows_in_folder(path: Path) -> BookRows:
    """Return what a reader counts in such a copy, all of which is read.

    Raises ValueError, LookupError or zipfile.BadZipFile for one that is damaged.
    """
    with zipfile.ZipFile(path) as packed:
        if damaged := packed.testzip():
            raise ValueError(f"{damaged} is damaged")
        rows = {name: _rows_of(packed, name) for name in COUNTED}
        [practice] = _rows_of(packed, "practice") or [{"name": ""}]
    last = max((row["date"] for row in rows["visits"] if row["status"] == DONE), default="")
    keys = {name: frozenset(plain_key(row[KEYS[name]]) for row in rows[name]) for name in COUNTED}
    return BookRows(practice["name"], last, keys)


def _rows_of(packed: zipfile.ZipFile, name: str) -> list[dict[str, str]]:
    with packed.open(f"{name}.csv") as file:
        return list(csv.DictReader(io.TextIOWrapper(file, "utf-8", newline="")))
