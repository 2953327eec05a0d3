"""What tells whether the tables that something rests on have changed since it was worked out: a stamp.

Triggers of these tables change it with every row that is added, changed or deleted, whoever does it: a page,
a command in another process, a backup that is restored. It is drawn at random and counts nothing, so it never
comes back with other rows than it had. `practice/project/furnish.py` brings the triggers to every book.
"""

from collections import defaultdict
from collections.abc import Iterable

from django.db import connection, models, transaction

EVENTS = ("delete", "insert", "update")
# So many connections may leave a row of theirs on PostgreSQL before those of the past are cleared away.
MOST_WRITERS = 100


class Stamp(models.Model):
    """A part of the stamp of this database. In no export: it says nothing of the book.

    SQLite, which has one writer at a time, has one row, of writer 0. On PostgreSQL each connection has its
    own, by the number of its process, so that nobody who saves waits for another. The stamp is all of them.
    """

    writer = models.BigIntegerField(primary_key=True)
    value = models.CharField(max_length=36)

    class Meta:
        app_label = "practice"

    def __str__(self):
        return f"{self.writer}: {self.value}"


def current_stamp() -> tuple[str, ...]:
    """Return what changes with every row of the stamped tables; empty where nothing sees to that."""
    return tuple(Stamp.objects.order_by("writer").values_list("value", flat=True))


def bring_stamps(tables: Iterable[str]) -> None:
    """Leave the triggers of these tables in the database, and of no others; what is right is only read.

    Where one was missing, something may have changed without it: the stamp is drawn anew.
    """
    dialect = dialect_of_book()
    wanted = {table: dialect.statements(table) for table in tables}
    with connection.cursor() as cursor:
        found = dialect.found(cursor)
    wrong = [table for table in {**found, **wanted} if found.get(table) != wanted.get(table)]
    writers = Stamp.objects.count()
    if not wrong and 0 < writers <= MOST_WRITERS:
        return
    with transaction.atomic(), connection.cursor() as cursor:
        statements = [each for table in wrong for each in (*dialect.drop(table), *wanted.get(table, []))]
        for statement in [*dialect.FIRST, *statements, dialect.DRAW, *dialect.CLEAR]:
            cursor.execute(statement)


def let_go_of_stamps() -> None:
    """Drop the triggers: SQLite rebuilds no table that the trigger of another one names."""
    dialect = dialect_of_book()
    with connection.cursor() as cursor:
        for table in dialect.found(cursor):
            for statement in dialect.drop(table):
                cursor.execute(statement)


def dialect_of_book() -> "type[RowStamps] | type[StatementStamps]":
    return RowStamps if connection.vendor == "sqlite" else StatementStamps


class RowStamps:
    """SQLite: a trigger for each event, which runs once a row."""

    FIRST = ()
    CLEAR = ("DELETE FROM practice_stamp WHERE writer <> 0",)
    DRAW = (
        "INSERT INTO practice_stamp (writer, value) VALUES (0, hex(randomblob(16)))"
        " ON CONFLICT (writer) DO UPDATE SET value = excluded.value"
    )

    @staticmethod
    def statements(table: str) -> list[str]:
        return [
            f"CREATE TRIGGER {table}_stamp_{event} AFTER {event.upper()} ON {table}"
            " BEGIN UPDATE practice_stamp SET value = hex(randomblob(16)); END"
            for event in EVENTS
        ]

    @staticmethod
    def found(cursor) -> dict[str, list[str]]:
        """Return, by table, the statements that made the triggers which are there."""
        cursor.execute("SELECT tbl_name, name, sql FROM sqlite_master WHERE type = 'trigger' ORDER BY name")
        found = defaultdict(list)
        for table, name, statement in cursor.fetchall():
            if name in [f"{table}_stamp_{event}" for event in EVENTS]:
                found[table].append(statement)
        return dict(found)

    @staticmethod
    def drop(table: str) -> list[str]:
        return [f"DROP TRIGGER IF EXISTS {table}_stamp_{event}" for event in EVENTS]


class StatementStamps:
    """PostgreSQL: one trigger a table, which runs once a statement."""

    DRAW = (
        "INSERT INTO practice_stamp (writer, value) VALUES (pg_backend_pid(), gen_random_uuid()::text)"
        " ON CONFLICT (writer) DO UPDATE SET value = excluded.value"
    )
    FIRST = (
        "CREATE OR REPLACE FUNCTION practice_stamp_draw() RETURNS trigger AS"
        f" $$ BEGIN {DRAW}; RETURN NULL; END $$ LANGUAGE plpgsql",
    )
    # Not of those who are saving now.
    CLEAR = (
        "DELETE FROM practice_stamp WHERE writer IN (SELECT writer FROM practice_stamp"
        " WHERE writer <> pg_backend_pid() FOR UPDATE SKIP LOCKED)",
    )

    @staticmethod
    def statements(table: str) -> list[str]:
        """Return the statement as the database itself writes it down."""
        return [
            f"CREATE TRIGGER {table}_stamp AFTER INSERT OR DELETE OR UPDATE OR TRUNCATE ON {table}"
            " FOR EACH STATEMENT EXECUTE FUNCTION practice_stamp_draw()"
        ]

    @staticmethod
    def found(cursor) -> dict[str, list[str]]:
        """Return, by table, the statements that make the triggers which are there and switched on."""
        cursor.execute(
            "SELECT relname, pg_get_triggerdef(pg_trigger.oid, true) FROM pg_trigger"
            " JOIN pg_class ON pg_class.oid = tgrelid WHERE tgname = relname || '_stamp'"
            " AND tgenabled = 'O' AND relnamespace = current_schema()::regnamespace"
        )
        return {table: [statement] for table, statement in cursor.fetchall()}

    @staticmethod
    def drop(table: str) -> list[str]:
        return [f"DROP TRIGGER IF EXISTS {table}_stamp ON {table}"]
