"""Books that earlier versions made, half-way up the old migrations too, open with the program of today.

`earliest_book.zip` is of the first version that brought in a book, closed its days and printed its invoices:
the SQL of its database, once for each kind, and what that version exported of it.
"""

import csv
import io
import json
import random
import sqlite3
import subprocess
import sys
import zipfile
from contextlib import closing
from pathlib import Path

import pytest
from django.core.management import call_command

from billing.actions.known_rates import known_rates
from practice.project.backup.contents import LIST
from practice.project.furnish import STAMPED
from tests.conftest import book_of_its_own
from tests.prepared import prepared
from tests.processes import ROOT, run_command, surroundings
from tests.project.old_books import LAST_OF_OLD

UPDATED = "The book was brought up to date. As it was before, it is kept in {}.\n"
GUARDED = [
    f"{table}_no_{event}"
    for table in (
        "billing_creditnote",
        "billing_creditnoteline",
        "billing_invoice",
        "billing_invoiceline",
        "billing_paymentchange",
        "practice_legchange",
        "stock_movement",
    )
    for event in ("delete", "update")
]
FOUND_BY_NAME = {"practice_client", "practice_horse", "practice_place", "stock_item"}


def make_old(variables: dict, targets: dict[str, str]) -> None:
    subprocess.run(
        [
            sys.executable,
            "-m",
            "tests.project.old_books",
            *[f"{app}={name}" for app, name in targets.items()],
        ],
        cwd=ROOT,
        env=surroundings(**variables),
        check=True,
    )


def state_of(variables: dict, said: str = "") -> dict:
    """Open a book as every command does, which says `said`; return what is in it."""
    code = "from tests.project.old_books import say_state; say_state()"
    ended = run_command("shell", "--no-imports", "-c", code, **variables)
    backup = "".join(str(path) for path in (variables["ROUNDBOOK_DATA"] / "backups").glob("*"))
    assert (ended.returncode, ended.stderr) == (0, said.format(backup))
    return json.loads(ended.stdout)


@pytest.fixture(scope="module")
def new_book(tmp_path_factory, django_db_blocker):
    """The state of a book that was begun today."""
    with book_of_its_own(tmp_path_factory.mktemp("new"), django_db_blocker) as variables:
        yield state_of(variables)


@pytest.mark.slow
@pytest.mark.parametrize(
    "targets",
    [
        {"stock": "0004_orders", "practice": "0002_odometer_indexes", "billing": "0006_repeating_expenses"},
        LAST_OF_OLD | {"practice": "0004_guards", "billing": "0009_account_days"},
        LAST_OF_OLD,
    ],
    ids=["middle", "two apps behind", "last"],
)
def test_a_book_of_any_earlier_state_opens_with_all_that_a_new_one_has(targets, absent_book, new_book):
    make_old(absent_book, targets)

    opened = state_of(absent_book, UPDATED)

    assert opened == new_book | {"account days": [["2026-05-04", "100", "0"], ["2026-06-01", "0", "30"]]}
    assert opened["is behind"] is False
    assert [name for name in opened["triggers"] if "_find" not in name and "_stamp" not in name] == GUARDED
    found = [name for name in opened["triggers"] if "_find" in name and "_stamp" not in name]
    assert {name.partition("_find")[0] for name in found} == FOUND_BY_NAME
    assert {name.partition("_stamp")[0] for name in opened["triggers"] if "_stamp" in name} == set(STAMPED)
    assert opened["known rates"] == len(known_rates())


EARLIEST = Path(__file__).parent / "earliest_book.zip"


def lay_earliest_book(variables: dict) -> None:
    """Make the absent book of these variables the earliest one."""
    kind = "postgresql" if "DATABASE_URL" in variables else "sqlite"
    variables["ROUNDBOOK_DATA"].mkdir()
    with zipfile.ZipFile(EARLIEST) as packed:
        on_database(variables, packed.read(f"book.{kind}.sql").decode())


def on_database(variables: dict, sql: str) -> list[tuple]:
    """Run SQL on the database of these variables; return the rows that it gives."""
    if "DATABASE_URL" in variables:
        import psycopg

        with psycopg.connect(variables["DATABASE_URL"]) as book:
            cursor = book.execute(sql)
            return cursor.fetchall() if cursor.description else []
    with closing(sqlite3.connect(variables["ROUNDBOOK_DATA"] / "roundbook.sqlite3")) as book, book:
        if sql.startswith("SELECT"):
            return book.execute(sql).fetchall()
        book.executescript(sql)
        return []


def rows_of_csv(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text, newline="")))


def said_then() -> dict[str, list[dict[str, str]]]:
    """Return what the earliest program exported of the book, by file."""
    with zipfile.ZipFile(EARLIEST) as packed:
        names = [name for name in packed.namelist() if name.startswith("said/")]
        return {name.removeprefix("said/"): rows_of_csv(packed.read(name).decode()) for name in names}


def in_the_columns_of(rows: list[dict[str, str]], then: list[dict[str, str]]) -> list[dict[str, str]]:
    return [{name: row[name] for name in then[0]} for row in rows] if then else rows


@pytest.mark.slow
def test_the_earliest_book_opens_with_the_figures_that_its_own_program_gave(absent_book, new_book, tmp_path):
    lay_earliest_book(absent_book)

    ended = run_command("export_book", tmp_path / "out", **absent_book)

    [backup] = (absent_book["ROUNDBOOK_DATA"] / "backups").iterdir()
    then = said_then()
    now = {name: rows_of_csv((tmp_path / "out" / name).read_bytes().decode()) for name in then}
    assert (ended.returncode, ended.stderr) == (0, UPDATED.format(backup))
    assert {name: in_the_columns_of(now[name], rows) for name, rows in then.items()} == then
    assert len(then["invoice_lines.csv"]) == 15
    with zipfile.ZipFile(backup) as packed:
        assert json.loads(packed.read(LIST))["book"]["invoices"] == 3
    assert state_of(absent_book)["schema"] == new_book["schema"]


@pytest.mark.slow
def test_an_update_that_fails_leaves_the_book_as_it_was_and_names_its_backup(absent_book):
    lay_earliest_book(absent_book)
    on_database(absent_book, "CREATE TABLE billing_message (in_the_way INTEGER)")
    asked = ("SELECT app, name FROM django_migrations ORDER BY id", "SELECT order_1 FROM stock_movement")
    before = [on_database(absent_book, sql) for sql in asked]

    ended = run_command("send", **absent_book)

    [backup] = (absent_book["ROUNDBOOK_DATA"] / "backups").iterdir()
    assert (ended.returncode, ended.stdout) == (1, "")
    assert ended.stderr.startswith(
        "Something went wrong: The book could not be brought up to date and is as it was before."
        f" Its backup is {backup}. What failed: "
    )
    assert "billing_message" in ended.stderr
    assert [on_database(absent_book, sql) for sql in asked] == before


@pytest.mark.slow
def test_an_update_that_is_killed_is_made_anew_from_the_book_as_it_was(absent_book):
    lay_earliest_book(absent_book)
    asked = "SELECT COUNT(*) FROM django_migrations"
    [(before,)] = on_database(absent_book, asked)
    with prepared(absent_book) as book:
        book.keep()
        took = book.seconds_of("send")
        updated, [(after,)] = book.state()["book"], on_database(absent_book, asked)
        part = random.Random("update").uniform(0.3, 0.7)

        while took:  # as long as it ends before it is killed, as the machine is quicker by then
            book.put_back()
            took = book.kill("send", after=took * part)

        left, found = on_database(absent_book, asked), book.state()
        backups = list((book.data / "backups").iterdir())
    assert left == [(before,)] != [(after,)]
    assert found["book"] == updated
    assert {name.partition("/")[0] for name in found["files"]} <= {"backups", "secret_key"}
    for path in backups:
        with zipfile.ZipFile(path) as packed:
            assert packed.testzip() is None


@pytest.mark.slow
def test_a_book_that_is_migrated_back_comes_forward_again(absent_book):
    begun = state_of(absent_book)

    back = run_command("migrate", "stock", "zero", **absent_book)
    again = state_of(absent_book)

    assert (back.returncode, back.stderr) == (0, "")
    assert again == begun


@pytest.mark.django_db
def test_the_migrations_say_all_that_the_models_do(capsys):
    call_command("makemigrations", check=True, dry_run=True)

    assert capsys.readouterr().out == "No changes detected\n"
