"""Half a million rows brought into an empty book, beside `executemany` alone: memory and rows a second."""

import json
import os
import sys
from dataclasses import dataclass

import pytest

from tests.benchmarks.large_book import write_large_book
from tests.processes import ROOT

pytestmark = pytest.mark.benchmark
YEARS = 20
BARE = """
import csv, pathlib, sqlite3, sys
bare = sqlite3.connect(sys.argv[2])
for path in sorted(pathlib.Path(sys.argv[1]).glob("*.csv")):
    with path.open(newline="", encoding="utf-8") as file, bare:
        rows = csv.reader(file)
        header = next(rows)
        bare.execute(f"CREATE TABLE {path.stem} ({', '.join(f'[{name}]' for name in header)})")
        bare.executemany(f"INSERT INTO {path.stem} VALUES ({', '.join('?' * len(header))})", rows)
print(bare.total_changes)
"""


@dataclass(frozen=True)
class Spent:
    """What a process printed, and what it took: seconds of processor time, and its peak in MB of memory."""

    printed: str
    seconds: float
    megabytes: float


def spent_by(arguments: list, out, **variables) -> Spent:
    """Run a process of its own to its end; it has to end well."""
    with out.open("w") as file:
        process = os.posix_spawn(
            sys.executable,
            [sys.executable, *map(str, arguments)],
            os.environ | {name: str(value) for name, value in variables.items()},
            file_actions=[(os.POSIX_SPAWN_DUP2, file.fileno(), 1)],
        )
        _, status, usage = os.wait4(process, 0)
    assert os.waitstatus_to_exitcode(status) == 0
    return Spent(out.read_text(), usage.ru_utime + usage.ru_stime, usage.ru_maxrss / 1024)


def test_importing_half_a_million_rows(empty_book, tmp_path, record_property):
    rows = write_large_book(tmp_path / "book", YEARS)
    book = empty_book.copied_to(tmp_path / "data")

    bare = spent_by(["-c", BARE, tmp_path / "book", tmp_path / "bare.sqlite3"], tmp_path / "bare.txt")
    imported = spent_by(
        [ROOT / "manage.py", "import_book", tmp_path / "book", "--json"],
        tmp_path / "imported.json",
        ROUNDBOOK_DATA=book.folder,
    )

    assert int(bare.printed) == rows > 500_000
    assert sum(file["new"] for file in json.loads(imported.printed)["files"]) == rows
    what = f"importing {rows:,} rows"
    record_property("volume", [(what, rows, imported), ("executemany alone", rows, bare)])
