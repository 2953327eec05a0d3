"""The database of a copy, in SQLite's way or in PostgreSQL's: copied out, checked, and put in place.

SQLite's is read with SQLite's own library. PostgreSQL's goes through its own programs, and each gets the lock
that a restore holds: where this process is killed, the next command waits until the program has ended.
"""

import re
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import IO

from django.apps import apps
from django.conf import settings
from django.db import connection, connections

from practice.lib.errors import RuleBroken
from practice.project.backup.contents import DUMP, EMPTIED, FOLDER, SQLITE
from practice.project.backup.folders import copy_as_folder, rows_in_folder
from practice.project.backup.inside import COUNTED, PRACTICE, BookRows, rows_in_dump, rows_in_sqlite
from practice.project.backup.postgres import has_program, run_on_book, run_program, what_it_said
from practice.project.exits import EnvironmentProblem

WAIT = 20  # seconds, for another process that writes
SCRIPT = "roundbook.sql"
MIGRATIONS = "django_migrations"
LOOKED_INTO = {MIGRATIONS, PRACTICE, *(table for table, _ in COUNTED.values())}
OURS = {"billing", "practice", "stock"}
# Whatever is in the book's schema goes first: a copy may be older than some of its tables.
DROP_ALL = """
SET client_min_messages = warning;
DO $$ DECLARE it record; BEGIN
  FOR it IN SELECT oid::regclass AS name FROM pg_class
            WHERE relnamespace = 'public'::regnamespace AND relkind IN ('r', 'p') LOOP
    EXECUTE format('DROP TABLE IF EXISTS %s CASCADE', it.name);
  END LOOP;
  FOR it IN SELECT oid::regprocedure AS name FROM pg_proc WHERE pronamespace = 'public'::regnamespace
            AND NOT EXISTS (SELECT FROM pg_depend WHERE objid = pg_proc.oid AND deptype = 'e') LOOP
    EXECUTE format('DROP FUNCTION IF EXISTS %s CASCADE', it.name);
  END LOOP;
END $$;
"""
EMPTY = "".join(
    "DO $$ BEGIN "
    f"IF to_regclass('public.{table}') IS NOT NULL THEN DELETE FROM public.{table}; END IF; "
    "END $$;\n"
    for table in EMPTIED
)

# What waited to be sent when the copy was made may have been sent since: it is not sent by itself again.
DOUBT = (
    "INSERT INTO billing_messageattempt (message_id, at, what, note)"
    " SELECT id, CURRENT_TIMESTAMP, 'doubtful', 'It waited when a backup was made, which was restored. It may"
    " have been sent since.' FROM billing_message WHERE state IN ('waiting', 'sending')",
    "UPDATE billing_message SET state = 'doubtful', claim = NULL WHERE state IN ('waiting', 'sending')",
)
DOUBT_MAIL = (
    "DO $$ BEGIN IF to_regclass('public.billing_message') IS NOT NULL THEN SET LOCAL search_path TO public; "
    + "; ".join(DOUBT)
    + "; END IF; END $$;\n"
)


def copy_database(folder: Path, may_be_folder: bool = False) -> Path:
    """Return a consistent copy of the database, even while others write to it, with EMPTIED tables empty.

    `may_be_folder`: where pg_dump is missing, the book's own folder does.
    """
    if connection.vendor == "sqlite":
        copy = folder / SQLITE
        with closing(_open(settings.DATABASES["default"]["NAME"])) as book:
            book.execute("VACUUM INTO ?", [str(copy)])
        _empty(copy)
        return copy
    if may_be_folder and not has_program("pg_dump"):
        return copy_as_folder(folder)
    copy = folder / DUMP
    left_out = [f"--exclude-table-data={table}" for table in EMPTIED]
    # Extensions are the other database's own: a book does without, and may not be allowed to make one.
    plain = ("--format=custom", "--no-owner", "--no-privileges", "--extension=plpgsql")
    # The file is there first: a program that runs on after this process was killed leaves no new one behind.
    with copy.open("xb") as out:
        run_on_book("pg_dump", *plain, *left_out, out=out)
    return copy


def _open(path) -> sqlite3.Connection:
    return sqlite3.connect(path, timeout=WAIT, isolation_level=None)


def _empty(path: Path) -> None:
    """Empty the tables that are no part of a copy, so that the file holds nothing of their rows either."""
    with closing(_open(path)) as copy:
        copy.execute("PRAGMA secure_delete=ON")
        present = {name for (name,) in copy.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
        for table in present.intersection(EMPTIED):
            copy.execute(f"DELETE FROM {table}")


def check_database(path: Path, from_here: bool) -> BookRows:
    """Return what a reader counts in the database of a copy, after checking it.

    Raises ValueError or sqlite3.Error for a damaged one, RuleBroken("backup_newer") for a newer one. A copy
    that was just made of this book is not asked how new it is.
    """
    if path.name == FOLDER:
        return rows_in_folder(path)
    applied = _migrations_in_sqlite(path) if path.name == SQLITE else _migrations_in_dump(path)
    known = known_migrations()
    newer = sorted(".".join(each) for each in applied - known)
    if newer and not from_here:
        raise RuleBroken(
            "backup_newer",
            f"This backup was made by a newer version of Roundbook (it has {newer[0]})."
            " Update Roundbook, then restore it.",
        )
    if not {app for app, _ in applied} >= OURS:
        raise ValueError("it is not the database of a book")
    return rows_inside(path)


def rows_inside(path: Path) -> BookRows:
    """Return what a reader counts in the database of a copy. Raises LookupError or sqlite3.Error for none."""
    if path.name == SQLITE:
        with closing(_open(path)) as book:
            return rows_in_sqlite(book)
    if path.name == FOLDER:
        return rows_in_folder(path)
    return rows_in_dump(_rows_in_dump(path))


def known_migrations() -> set[tuple[str, str]]:
    """Return the migrations of this version, as app and name, with those that others stand in for."""
    from django.db.migrations.loader import MigrationLoader

    known = MigrationLoader(None, ignore_no_migrations=True).disk_migrations
    return set(known) | {tuple(old) for migration in known.values() for old in migration.replaces}


def _migrations_in_sqlite(path: Path) -> set[tuple[str, str]]:
    with closing(_open(path)) as book:
        kinds = dict(book.execute("SELECT name, type FROM sqlite_master WHERE type IN ('table', 'view')"))
        if "view" in kinds.values() or not {MIGRATIONS, PRACTICE} <= set(kinds):
            raise ValueError("it is not the database of a book")
        applied = set(book.execute(f"SELECT app, name FROM {MIGRATIONS}"))
        tables = {model._meta.db_table for model in apps.get_models()}
        if applied >= known_migrations() and not tables <= set(kinds):
            raise ValueError("tables of its database are missing")
        [[answer]] = book.execute("PRAGMA integrity_check(1)").fetchall()
        if answer != "ok" or book.execute("PRAGMA foreign_key_check").fetchone():
            raise ValueError("its database is damaged")
    return applied


def _migrations_in_dump(path: Path) -> set[tuple[str, str]]:
    """Return the migrations in a dump, which is read to its end."""
    rows = (row for table, row in _rows_in_dump(path) if table == MIGRATIONS)
    return {(row["app"], row["name"]) for row in rows}


def _rows_in_dump(path: Path) -> Iterator[tuple[str, dict[str, str]]]:
    """Yield the rows of the tables that are looked into, as table and row.

    Raises ValueError for a dump that cannot be read, or does more than bring rows.
    """
    script = path.with_name(SCRIPT)
    if not script.exists():
        _read_dump(path, script)
    at, columns = None, []
    with script.open(encoding="utf-8") as lines:
        for line in lines:
            if at is None:
                if copied := re.fullmatch(r"COPY (\S+) \((.*)\) FROM stdin;\n", line):
                    at, columns = copied[1].removeprefix("public."), copied[2].split(", ")
                elif "\\" in line and not re.fullmatch(r"\\(un)?restrict \w+\n", line):
                    raise ValueError("it holds commands that backup does not write")
            elif line == "\\.\n":
                at = None
            elif at in LOOKED_INTO:
                yield at, dict(zip(columns, line.rstrip("\n").split("\t"), strict=True))


def _read_dump(path: Path, script: Path) -> None:
    """Write the SQL of a dump. Raises ValueError where it cannot be read.

    Raises EnvironmentProblem where a newer pg_dump wrote it.
    """
    arguments = ("--clean", "--if-exists", "--no-owner", "--no-privileges", f"--file={script}", str(path))
    done = run_program("pg_restore", *arguments)
    if "unsupported version" in done.stderr:
        raise EnvironmentProblem(
            "This backup was made by a newer pg_dump. Install that version of PostgreSQL's client programs."
        )
    if done.returncode:
        raise ValueError(what_it_said(done))


def prepare(folder: Path) -> None:
    """Make the checked database in `folder` ready to be put in place: no way in, no mail that
    waits, and a mark of its own.
    """
    if connection.vendor != "sqlite":
        return
    with closing(_open(settings.DATABASES["default"]["NAME"])) as book:
        [page_size] = book.execute("PRAGMA page_size").fetchone()
    _empty(folder / SQLITE)
    with closing(_open(folder / SQLITE)) as copy:
        copy.execute("PRAGMA journal_mode=DELETE")
        _doubt_mail(copy)
        copy.execute(f"PRAGMA user_version={(mark_of_book() + 1) % 2**31}")
        if copy.execute("PRAGMA page_size").fetchone() != (page_size,):
            copy.execute(f"PRAGMA page_size={page_size}")
            copy.execute("VACUUM")


def _doubt_mail(copy: sqlite3.Connection) -> None:
    """Let no message in a copy wait; one that is older than messages has none."""
    if copy.execute("SELECT 1 FROM sqlite_master WHERE name = 'billing_message'").fetchone():
        for statement in DOUBT:
            copy.execute(statement)


def mark_of_book() -> int:
    """Return what differs once another database is in place: SQLite's user_version, or a table's number."""
    if connection.vendor == "sqlite":
        with closing(_open(settings.DATABASES["default"]["NAME"])) as book:
            return book.execute("PRAGMA user_version").fetchone()[0]
    with connection.cursor() as cursor:
        cursor.execute("SELECT to_regclass('public.django_migrations')::oid::bigint")
        return cursor.fetchone()[0] or 0


def put_database(folder: Path, lock: IO) -> None:
    """Replace the book's database with the one in `folder`, in one transaction."""
    connections.close_all()
    if connection.vendor == "sqlite":
        # Into the existing file: a process that has it open sees either book, never a mixture.
        with (
            closing(_open(folder / SQLITE)) as copy,
            closing(_open(settings.DATABASES["default"]["NAME"])) as book,
        ):
            copy.backup(book)
        return
    for name, sql in (("before.sql", DROP_ALL), ("after.sql", EMPTY + DOUBT_MAIL)):
        (folder / name).write_text(sql)
    files = [f"--file={folder / name}" for name in ("before.sql", SCRIPT, "after.sql")]
    quietly = (
        "--no-psqlrc",
        "--quiet",
        "--single-transaction",
        "--set=ON_ERROR_STOP=1",
        "--output=/dev/null",
    )
    run_on_book("psql", *quietly, *files, lock=lock)
