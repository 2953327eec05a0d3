"""Triggers that refuse to change or delete rows, on SQLite and on PostgreSQL.

Each app lists its guards in `guards.py`, and `practice/project/furnish.py` brings them to every book, after
every migration and before every command. No migration makes a trigger: on SQLite, Django rebuilds a table
that a migration alters, and the triggers of the old table are gone without a word.
"""

from collections import defaultdict
from dataclasses import dataclass

from django.apps import apps
from django.db import transaction

EVENTS = ("delete", "update")


@dataclass(frozen=True)
class Follows:
    """A column by which a fact follows the entry that it names while a merge moves it, there or back.

    `at_the_end`: the column is text that ends with the entry's key, after its only slash.
    """

    column: str
    kind: str
    at_the_end: bool = False

    @property
    def condition(self) -> str:
        """SQL on OLD and NEW: the column goes along a merge that is moving now (`practice/lib/merges.py`)."""
        ways = " OR ".join(self._way(*way) for way in (("taken_pk", "kept_pk"), ("kept_pk", "taken_pk")))
        return f"EXISTS (SELECT 1 FROM practice_merge WHERE moving AND kind = '{self.kind}' AND ({ways}))"

    def _way(self, before: str, after: str) -> str:
        old, new = f"OLD.{self.column}", f"NEW.{self.column}"
        if not self.at_the_end:
            return f"{old} = {before} AND {new} = {after}"
        ends = [f"'/' || CAST({key} AS TEXT)" for key in (before, after)]
        return f"{old} LIKE '%' || {ends[0]} AND {new} = replace({old}, {ends[0]}, {ends[1]})"


@dataclass(frozen=True)
class Guard:
    """Rows of `table` that may not be changed or deleted; `when` is SQL on `OLD`, blank = every row.

    A column of `follows` may change, alone, while a merge moves the rows of the entry that it names.
    """

    table: str
    message: str
    when: str = ""
    follows: tuple[Follows, ...] = ()

    @property
    def quoted_message(self) -> str:
        return "'" + self.message.replace("'", "''") + "'"

    def moved_by_merge(self, is_same: str) -> str:
        """Return SQL: the update moves the row along a merge, and changes nothing else. Blank: none may.

        `is_same` compares two values of which both may be NULL.
        """
        columns = columns_of(self.table) if self.follows else []
        ways = []
        for each in self.follows:
            others = [f'OLD."{name}" {is_same} NEW."{name}"' for name in columns if name != each.column]
            ways.append(" AND ".join([each.condition, *others]))
        return " OR ".join(f"({way})" for way in ways)


def columns_of(table: str) -> list[str]:
    """Return the columns of a table of ours, as its model has them."""
    [model] = [model for model in apps.get_models() if model._meta.db_table == table]
    return [field.column for field in model._meta.concrete_fields]


def name_of(table: str, event: str) -> str:
    return f"{table}_no_{event}"


def is_a_guards(trigger: str, table: str) -> bool:
    """Whether a trigger of this name on this table is one of a guard."""
    return trigger in [name_of(table, event) for event in EVENTS]


def bring_guards(connection, guards: list[Guard]) -> None:
    """Leave the triggers of these guards in the database, and of no others; what is right stays untouched.

    Triggers with other names than a guard's are let alone.
    """
    dialect, wanted = _dialect_of(connection), _wanted(connection, guards)
    wrong = wrong_guards(connection, guards)
    if not wrong:
        return
    with transaction.atomic(using=connection.alias), connection.cursor() as cursor:
        for table in wrong:
            for statement in [*dialect.drop(table), *wanted.get(table, [])]:
                cursor.execute(statement)


def wrong_guards(connection, guards: list[Guard]) -> list[str]:
    """Return the tables whose triggers in the database are not those of these guards."""
    wanted = _wanted(connection, guards)
    with connection.cursor() as cursor:
        found = _dialect_of(connection).found(cursor)
    return [table for table in {**found, **wanted} if found.get(table) != wanted.get(table)]


def _dialect_of(connection) -> type["SQLite"] | type["PostgreSQL"]:
    return SQLite if connection.vendor == "sqlite" else PostgreSQL


def _wanted(connection, guards: list[Guard]) -> dict[str, list[str]]:
    """Return, by table, the statements that make the triggers of these guards."""
    return {guard.table: _dialect_of(connection).statements(guard) for guard in guards}


def let_go_of_merges(connection) -> None:
    """Drop the triggers that name merges: SQLite rebuilds no table that the trigger of another one names."""
    if connection.vendor != "sqlite":
        return
    with connection.cursor() as cursor:
        of_merges = "type = 'trigger' AND sql LIKE '%practice_merge%'"
        cursor.execute(f"SELECT name FROM sqlite_master WHERE {of_merges}")
        for (name,) in cursor.fetchall():
            cursor.execute(f"DROP TRIGGER {name}")


class SQLite:
    """The database keeps the statement that made a trigger, so that is what is compared."""

    @staticmethod
    def statements(guard: Guard) -> list[str]:
        moved = guard.moved_by_merge("IS")
        unless = {"update": f"NOT ({moved})"} if moved else {}
        statements = []
        for event in EVENTS:
            conditions = [f"({each})" for each in (guard.when, unless.get(event)) if each]
            condition = f" WHEN {' AND '.join(conditions)}" if conditions else ""
            statements.append(
                f"CREATE TRIGGER {name_of(guard.table, event)} BEFORE {event.upper()} ON"
                f" {guard.table}{condition} BEGIN SELECT RAISE(ABORT, {guard.quoted_message}); END"
            )
        return statements

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
        table, moved = guard.table, guard.moved_by_merge("IS NOT DISTINCT FROM")
        unless = f" AND NOT (TG_OP = 'UPDATE' AND ({moved}))" if moved else ""
        body = (
            f" BEGIN IF ({guard.when or 'TRUE'}){unless} THEN"
            f" RAISE EXCEPTION USING MESSAGE = {guard.quoted_message},"
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
