"""What tells whether the tables that something rests on have changed since it was worked out: their stamps.

Triggers change the stamp of a table with every row that is added, changed or deleted, whoever does it: a
page, a command in another process, a restore. A stamp is drawn at random and counts nothing, so it never
comes back with other rows than it had. `practice/project/furnish.py` brings the triggers to every book.
"""

from collections.abc import Collection, Iterable

from django.db import connection, models, transaction

from practice.lib.trigger_kinds import TriggerKind, function

EVENTS = ("delete", "insert", "update")
# On SQLite one for each event, which runs once a row; on PostgreSQL one for all, once a statement.
DRAWING = TriggerKind((*(f"_stamp_{event}" for event in EVENTS), "_stamp"))
DRAW = {
    "sqlite": "INSERT INTO practice_stamp (source, writer, value) VALUES ({}, 0, hex(randomblob(16)))"
    " ON CONFLICT (source, writer) DO UPDATE SET value = excluded.value",
    "postgresql": "INSERT INTO practice_stamp (source, writer, value)"
    " VALUES ({}, pg_backend_pid(), gen_random_uuid()::text)"
    " ON CONFLICT (source, writer) DO UPDATE SET value = excluded.value",
}
# On PostgreSQL, connections that have ended leave their rows. Whoever finds more than so many of a table
# clears them away, but for those that somebody else is clearing away just now.
MOST = 20
CLEAR = (
    "DELETE FROM practice_stamp WHERE id IN (SELECT id FROM practice_stamp WHERE source = TG_TABLE_NAME"
    " AND writer NOT IN (SELECT pid FROM pg_stat_activity) FOR UPDATE SKIP LOCKED)"
)


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
    statements, draw = STATEMENTS[connection.vendor], DRAW[connection.vendor]
    wanted = {table: statements(table) for table in tables}
    drawn = set(Stamp.objects.values_list("source", flat=True))
    wrong = DRAWING.wrong(connection, wanted)
    anew = [table for table in wanted if table in wrong or table not in drawn]
    if not wrong and not anew and drawn <= wanted.keys():
        return
    with transaction.atomic(), connection.cursor() as cursor:
        DRAWING.mend(connection, wrong, wanted)
        for table in anew:
            cursor.execute(draw.format(f"'{table}'"))
        Stamp.objects.exclude(source__in=wanted).delete()


def on_sqlite(table: str) -> list[str]:
    return [
        f"CREATE TRIGGER {table}_stamp_{event} AFTER {event.upper()} ON {table}"
        f" BEGIN UPDATE practice_stamp SET value = hex(randomblob(16)) WHERE source = '{table}'; END"
        for event in EVENTS
    ]


def on_postgresql(table: str) -> list[str]:
    body = (
        f" BEGIN {DRAW['postgresql'].format('TG_TABLE_NAME')};"
        f" IF (SELECT count(*) FROM practice_stamp WHERE source = TG_TABLE_NAME) > {MOST}"
        f" THEN {CLEAR}; END IF;"
        " RETURN NULL; END "
    )
    return [
        function("practice_stamp_draw", body),
        f"CREATE TRIGGER {table}_stamp AFTER INSERT OR DELETE OR UPDATE OR TRUNCATE ON {table}"
        " FOR EACH STATEMENT EXECUTE FUNCTION practice_stamp_draw()",
    ]


STATEMENTS = {"sqlite": on_sqlite, "postgresql": on_postgresql}
