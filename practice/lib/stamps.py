"""What tells whether the tables that something rests on have changed since it was worked out: their stamps.

Triggers change the stamp of a table with every row that is added, changed or deleted, whoever does it: a
page, a command in another process, a restore. A stamp is drawn at random and counts nothing, so it never
comes back with other rows than it had. `practice/project/furnish.py` brings the triggers to every book.
"""

from collections import defaultdict
from collections.abc import Collection, Iterable

from django.db import connection, models, transaction

EVENTS = ("delete", "insert", "update")


class Stamp(models.Model):
    """A part of the stamp of a table in this database. In no export: it says nothing of the book.

    SQLite, which has one writer at a time, has one row a table, of writer 0. On PostgreSQL each connection
    has its own, by the number of its process, so that nobody who saves waits for another: all are the stamp.
    """

    source = models.CharField(max_length=63)
    writer = models.BigIntegerField()
    value = models.CharField(max_length=36)

    class Meta:
        app_label = "practice"
        constraints = [
            models.UniqueConstraint(fields=["source", "writer"], name="practice_stamp_of_a_writer"),
        ]

    def __str__(self):
        return f"{self.source} by {self.writer}: {self.value}"


def stamps_of(tables: Collection[str]) -> tuple[tuple[str, str], ...]:
    """Return what changes with every row of these tables; empty where no trigger sees to one of them."""
    rows = Stamp.objects.filter(source__in=tables).order_by("source", "writer")
    stamps = tuple(rows.values_list("source", "value"))
    return stamps if {source for source, _ in stamps} == set(tables) else ()


def bring_stamps(tables: Iterable[str]) -> None:
    """Leave the triggers of these tables in the database, and of no others; what is right is only read.

    Where one was missing, something may have changed without it: the stamp of its table is drawn anew.
    """
    dialect = dialect_of_book()
    wanted = {table: dialect.statements(table) for table in tables}
    with connection.cursor() as cursor:
        found = dialect.found(cursor)
    drawn = set(Stamp.objects.values_list("source", flat=True))
    wrong = [table for table in {**found, **wanted} if found.get(table) != wanted.get(table)]
    anew = [table for table in wanted if table in wrong or table not in drawn]
    if not wrong and not anew and drawn <= wanted.keys():
        return
    with transaction.atomic(), connection.cursor() as cursor:
        statements = [each for table in wrong for each in (*dialect.drop(table), *wanted.get(table, []))]
        for statement in [*dialect.FIRST, *statements]:
            cursor.execute(statement)
        for table in anew:
            cursor.execute(dialect.DRAW.format(f"'{table}'"))
        Stamp.objects.exclude(source__in=wanted).delete()


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
    DRAW = (
        "INSERT INTO practice_stamp (source, writer, value) VALUES ({}, 0, hex(randomblob(16)))"
        " ON CONFLICT (source, writer) DO UPDATE SET value = excluded.value"
    )

    @staticmethod
    def statements(table: str) -> list[str]:
        return [
            f"CREATE TRIGGER {table}_stamp_{event} AFTER {event.upper()} ON {table}"
            f" BEGIN UPDATE practice_stamp SET value = hex(randomblob(16)) WHERE source = '{table}'; END"
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
    """PostgreSQL: one trigger a table, which runs once a statement.

    Connections that have ended leave their rows. Whoever finds many of them clears them away, but for those
    that somebody else is clearing away just now.
    """

    MOST = 20
    DRAW = (
        "INSERT INTO practice_stamp (source, writer, value)"
        " VALUES ({}, pg_backend_pid(), gen_random_uuid()::text)"
        " ON CONFLICT (source, writer) DO UPDATE SET value = excluded.value"
    )
    CLEAR = (
        "DELETE FROM practice_stamp WHERE id IN (SELECT id FROM practice_stamp WHERE source = TG_TABLE_NAME"
        " AND writer NOT IN (SELECT pid FROM pg_stat_activity) FOR UPDATE SKIP LOCKED)"
    )
    FIRST = (
        "CREATE OR REPLACE FUNCTION practice_stamp_draw() RETURNS trigger AS $$ BEGIN"
        f" {DRAW.format('TG_TABLE_NAME')};"
        f" IF (SELECT count(*) FROM practice_stamp WHERE source = TG_TABLE_NAME) > {MOST}"
        f" THEN {CLEAR}; END IF;"
        " RETURN NULL; END $$ LANGUAGE plpgsql",
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
