"""Triggers that refuse to change or delete rows, on SQLite and on PostgreSQL.

Each app lists its guards in `guards.py`, and `practice/project/furnish.py` brings them to every book, after
every migration and before every command. No migration makes a trigger: on SQLite, Django rebuilds a table
that a migration alters, and the triggers of the old table are gone without a word.
"""

from collections import defaultdict
from dataclasses import dataclass

from django.db import transaction

EVENTS = ("delete", "update")


@dataclass(frozen=True)
class Guard:
    """Rows of `table` that may not be changed or deleted; `when` is SQL on `OLD`, blank = every row."""

    table: str
    message: str
    when: str = ""

    @property
    def quoted_message(self) -> str:
        return "'" + self.message.replace("'", "''") + "'"


def name_of(table: str, event: str) -> str:
    return f"{table}_no_{event}"


def is_a_guards(trigger: str, table: str) -> bool:
    """Whether a trigger of this name on this table is one of a guard."""
    return trigger in [name_of(table, event) for event in EVENTS]


def bring_guards(connection, guards: list[Guard]) -> None:
    """Leave the triggers of these guards in the database, and of no others; what is right stays untouched.

    Triggers with other names than a guard's are let alone.
    """
    dialect = SQLite if connection.vendor == "sqlite" else PostgreSQL
    wanted = {guard.table: dialect.statements(guard) for guard in guards}
    with connection.cursor() as cursor:
        found = dialect.found(cursor)
    wrong = [table for table in {**found, **wanted} if found.get(table) != wanted.get(table)]
    if not wrong:
        return
    with transaction.atomic(using=connection.alias), connection.cursor() as cursor:
        for table in wrong:
            for statement in [*dialect.drop(table), *wanted.get(table, [])]:
                cursor.execute(statement)


class SQLite:
    """The database keeps the statement that made a trigger, so that is what is compared."""

    @staticmethod
    def statements(guard: Guard) -> list[str]:
        condition = f" WHEN ({guard.when})" if guard.when else ""
        return [
            f"CREATE TRIGGER {name_of(guard.table, event)} BEFORE {event.upper()} ON {guard.table}{condition}"
            f" BEGIN SELECT RAISE(ABORT, {guard.quoted_message}); END"
            for event in EVENTS
        ]

    @staticmethod
    def found(cursor) -> dict[str, list[str]]:
        """Return, by table, the statements that made the triggers which are there."""
        cursor.execute("SELECT tbl_name, name, sql FROM sqlite_master WHERE type = 'trigger' ORDER BY name")
        found = defaultdict(list)
        for table, name, statement in cursor.fetchall():
            if is_a_guards(name, table):
                found[table].append(statement)
        return found

    @staticmethod
    def drop(table: str) -> list[str]:
        return [f"DROP TRIGGER IF EXISTS {name_of(table, event)}" for event in EVENTS]


class PostgreSQL:
    """The triggers of a table call one function, which also holds the guard's condition.

    The database keeps the body of a function word for word. The condition of a trigger it rewrites, and
    what is rewritten cannot be compared.
    """

    @staticmethod
    def statements(guard: Guard) -> list[str]:
        table = guard.table
        body = (
            f" BEGIN IF {guard.when or 'TRUE'} THEN RAISE EXCEPTION USING MESSAGE = {guard.quoted_message},"
            " ERRCODE = 'integrity_constraint_violation'; END IF;"
            " IF TG_OP = 'DELETE' THEN RETURN OLD; END IF; RETURN NEW; END "
        )
        return [
            PostgreSQL.function(f"{table}_refuse", body),
            *[
                f"CREATE TRIGGER {name_of(table, event)} BEFORE {event.upper()} ON {table}"
                f" FOR EACH ROW EXECUTE FUNCTION {table}_refuse()"
                for event in EVENTS
            ],
        ]

    @staticmethod
    def function(name: str, body: str) -> str:
        return f"CREATE FUNCTION {name}() RETURNS trigger AS $${body}$$ LANGUAGE plpgsql"

    @staticmethod
    def found(cursor) -> dict[str, list[str]]:
        """Return, by table, the statements that make the triggers which are there and switched on."""
        cursor.execute(
            "SELECT relname, tgname, proname, prosrc, pg_get_triggerdef(pg_trigger.oid, true) FROM pg_trigger"
            " JOIN pg_class ON pg_class.oid = tgrelid JOIN pg_proc ON pg_proc.oid = tgfoid"
            " WHERE NOT tgisinternal AND tgenabled = 'O' AND relnamespace = current_schema()::regnamespace"
            " ORDER BY tgname"
        )
        found = defaultdict(dict)
        for table, name, function, body, trigger in cursor.fetchall():
            if is_a_guards(name, table):
                found[table] |= dict.fromkeys([PostgreSQL.function(function, body), trigger])
        return {table: list(statements) for table, statements in found.items()}

    @staticmethod
    def drop(table: str) -> list[str]:
        return [
            *[f"DROP TRIGGER IF EXISTS {name_of(table, event)} ON {table}" for event in EVENTS],
            f"DROP FUNCTION IF EXISTS {table}_refuse()",
        ]
