"""Triggers that refuse to change or delete rows, on SQLite and on PostgreSQL.

Each app lists its guards in `guards.py`, and `practice/project/furnish.py` brings them to every book, after
every migration and before every command. No migration makes a trigger: on SQLite, Django rebuilds a table
that a migration alters, and the triggers of the old table are gone without a word.
"""

from collections.abc import Callable
from dataclasses import dataclass

from django.apps import apps

from practice.lib.trigger_kinds import Statements, TriggerKind, function

EVENTS = ("delete", "update")
REFUSING = TriggerKind(tuple(f"_no_{event}" for event in EVENTS), function="_refuse")


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


def bring_guards(connection, guards: list[Guard]) -> None:
    """Leave the triggers of these guards in the database, and of no others; what is right stays untouched.

    Triggers with other names than a guard's are let alone.
    """
    REFUSING.mend(connection, wrong_guards(connection, guards), _wanted(connection, guards))


def wrong_guards(connection, guards: list[Guard]) -> list[str]:
    """Return the tables whose triggers in the database are not those of these guards."""
    return REFUSING.wrong(connection, _wanted(connection, guards))


def _wanted(connection, guards: list[Guard]) -> Statements:
    statements = STATEMENTS[connection.vendor]
    return {guard.table: statements(guard) for guard in guards}


def let_go_of_merges(connection) -> None:
    """Drop the triggers that name merges: SQLite rebuilds no table that the trigger of another one names."""
    if connection.vendor != "sqlite":
        return
    with connection.cursor() as cursor:
        of_merges = "type = 'trigger' AND sql LIKE '%practice_merge%'"
        cursor.execute(f"SELECT name FROM sqlite_master WHERE {of_merges}")
        for (name,) in cursor.fetchall():
            cursor.execute(f"DROP TRIGGER {name}")


def on_sqlite(guard: Guard) -> list[str]:
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


def on_postgresql(guard: Guard) -> list[str]:
    """Return a function, which also holds the guard's condition, and the triggers that call it.

    The condition of a trigger the database rewrites, and what is rewritten cannot be compared.
    """
    table, moved = guard.table, guard.moved_by_merge("IS NOT DISTINCT FROM")
    unless = f" AND NOT (TG_OP = 'UPDATE' AND ({moved}))" if moved else ""
    body = (
        f" BEGIN IF ({guard.when or 'TRUE'}){unless} THEN"
        f" RAISE EXCEPTION USING MESSAGE = {guard.quoted_message},"
        " ERRCODE = 'integrity_constraint_violation'; END IF;"
        " IF TG_OP = 'DELETE' THEN RETURN OLD; END IF; RETURN NEW; END "
    )
    return [
        function(f"{table}_refuse", body),
        *[
            f"CREATE TRIGGER {name_of(table, event)} BEFORE {event.upper()} ON {table}"
            f" FOR EACH ROW EXECUTE FUNCTION {table}_refuse()"
            for event in EVENTS
        ],
    ]


STATEMENTS: dict[str, Callable[[Guard], list[str]]] = {"sqlite": on_sqlite, "postgresql": on_postgresql}
