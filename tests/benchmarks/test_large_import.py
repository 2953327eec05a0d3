"""Half a million rows brought into an empty book, beside `executemany` alone: memory and rows a second."""

import json
import os
import subprocess
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


# A small process in between: the peak of a process begins with that of the one that started it.
MEASURE = """
import os, sys
child = os.posix_spawn(sys.executable, [sys.executable, *sys.argv[1:]], os.environ)
_, status, usage = os.wait4(child, 0)
print(usage.ru_utime + usage.ru_stime, usage.ru_maxrss, file=sys.stderr)
sys.exit(os.waitstatus_to_exitcode(status))
"""


@dataclass(frozen=True)
class Spent:
    """What a process printed, and what it took: seconds of processor time, and its peak in MB of memory."""

    printed: str
    seconds: float
    megabytes: float


def spent_by(*arguments, **variables) -> Spent:
    """Run Python in a process of its own to its end; it has to end well."""
    ended = subprocess.run(
        [sys.executable, "-c", MEASURE, *map(str, arguments)],
        env=os.environ | {name: str(value) for name, value in variables.items()},
        capture_output=True,
        text=True,
    )
    assert ended.returncode == 0, ended.stderr
    seconds, kilobytes = map(float, ended.stderr.splitlines()[-1].split())
    return Spent(ended.stdout, seconds, kilobytes / 1024)


def test_importing_half_a_million_rows(empty_book, tmp_path, record_property):
    rows = write_large_book(tmp_path / "book", YEARS)
    book = empty_book.copied_to(tmp_path / "data")

    bare = spent_by("-c", BARE, tmp_path / "book", tmp_path / "bare.sqlite3")
    imported = spent_by(
        ROOT / "manage.py", "import_book", tmp_path / "book", "--json", ROUNDBOOK_DATA=book.folder
    )

    assert int(bare.printed) == rows > 500_000
    assert sum(file["new"] for file in json.loads(imported.printed)["files"]) == rows
    what = f"importing {rows:,} rows"
    record_property("volume", [(what, rows, imported), ("executemany alone", rows, bare)])
