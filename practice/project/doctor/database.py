"""The database: whole, of this version, with its guards. It is read as it is at one moment."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from django.conf import settings
from django.db import connection, transaction

from practice.lib.formats import counted
from practice.lib.triggers import wrong_guards
from practice.project.backup.databases import known_migrations
from practice.project.doctor.faults import RESTORE, NamedFault, some_of
from practice.project.find.index import has_pieces
from practice.project.find.watching import wrong_watchers
from practice.project.furnish import GUARDS

BY_ITSELF = "Run any other command, such as `send`: it takes care of that. Then run doctor again."
MOST_LINES = 20


def file_of_book() -> Path | None:
    """Return the database's file; None where it is on a server."""
    return Path(connection.settings_dict["NAME"]) if connection.vendor == "sqlite" else None


def look_for_book() -> Iterator[NamedFault]:
    """Find that there is no book, before one is made by looking."""
    file = file_of_book()
    if file is not None and not file.exists():
        yield NamedFault(
            "no_book",
            f"There is no book in {settings.DATA_DIR}.",
            "Name the folder that has it in ROUNDBOOK_DATA, restore a backup, or begin a book with `start`.",
        )


@contextmanager
def only_looking() -> Iterator[None]:
    """Read the book as it is at one moment. The database itself refuses any change in here."""
    if connection.vendor == "sqlite":
        kept, connection.transaction_mode = connection.transaction_mode, "DEFERRED"
        try:
            with connection.cursor() as cursor:
                cursor.execute("PRAGMA query_only=ON")
            with transaction.atomic():
                yield
        finally:
            connection.transaction_mode = kept
            with connection.cursor() as cursor:
                cursor.execute("PRAGMA query_only=OFF")
        return
    with transaction.atomic():
        with connection.cursor() as cursor:
            cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
        yield


def look_at_integrity() -> Iterator[NamedFault]:
    """Find damage: pages that cannot be read, rows that break what the database promises."""
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            yield from _damage(cursor)
            yield from _lost_rows(cursor)
            return
        cursor.execute(
            "SELECT conrelid::regclass || '.' || conname FROM pg_constraint"
            " JOIN pg_class ON pg_class.oid = conrelid"
            " WHERE NOT convalidated AND relnamespace = current_schema()::regnamespace ORDER BY 1"
        )
        if unchecked := [name for (name,) in cursor.fetchall()]:
            yield NamedFault(
                "constraints_off",
                f"The database has not checked its rows against these rules: {some_of(unchecked)}.",
                RESTORE,
            )
        for table in connection.introspection.table_names(cursor):
            cursor.execute(f'SELECT COUNT(t.*) FROM "{table}" t')  # reads every row


def _damage(cursor) -> Iterator[NamedFault]:
    rows = cursor.execute(f"PRAGMA integrity_check({MOST_LINES})").fetchall()
    if rows != [("ok",)]:
        said = rows[0][0].strip().splitlines()[-1]
        yield NamedFault("database_damaged", f"The database is damaged: {said}.", RESTORE)


def _lost_rows(cursor) -> Iterator[NamedFault]:
    lost = cursor.execute("PRAGMA foreign_key_check").fetchall()
    if lost:
        tables = dict.fromkeys(f"{table} to {parent}" for table, _, parent, _ in lost)
        yield NamedFault("lost_rows", f"Rows point to others that are gone: {some_of(tables)}.", RESTORE)


def look_at_migrations() -> Iterator[NamedFault]:
    """Find that the book is of another version of the program."""
    from django.db.migrations.executor import MigrationExecutor

    executor = MigrationExecutor(connection)
    known = known_migrations()
    ours = {app for app, _ in known}
    newer = sorted(
        key for key in executor.recorder.applied_migrations() if key[0] in ours and key not in known
    )
    if newer:
        yield NamedFault(
            "book_newer",
            f"A newer version of Roundbook wrote this book: it has {'.'.join(newer[0])}.",
            "Update Roundbook, then run doctor again.",
        )
    elif behind := executor.migration_plan(executor.loader.graph.leaf_nodes()):
        yield NamedFault(
            "book_behind",
            f"The book is from an older version: {counted(len(behind), 'update')} of its tables missing.",
            f"Make a backup. {BY_ITSELF}",
        )


def look_at_search() -> Iterator[NamedFault]:
    """Find that the search misses what changes, or has to compare names one by one."""
    if wrong := wrong_watchers(connection):
        yield NamedFault(
            "search_behind",
            f"The search misses changes in {some_of(sorted(wrong))}: triggers are missing.",
            BY_ITSELF,
        )
    if not has_pieces():
        yield NamedFault(
            "search_slow",
            "The database cannot compare parts of words, so finding a name with a typo takes longer.",
            "On PostgreSQL, have the owner of the database run CREATE EXTENSION pg_trgm. On SQLite, use a"
            " Python whose SQLite is 3.34 or later and has FTS5.",
            of_machine=True,
        )


def look_at_guards() -> Iterator[NamedFault]:
    """Find tables of facts whose triggers are missing or are not those of this version."""
    if wrong := wrong_guards(connection, GUARDS):
        yield NamedFault(
            "guards_missing",
            f"Nothing keeps records from being changed in {some_of(sorted(wrong))}: triggers are missing.",
            BY_ITSELF,
        )
