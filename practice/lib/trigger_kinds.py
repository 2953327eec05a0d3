"""Triggers of the program in the database: which are there, and how those that are wrong are mended.

What each kind does is said where it belongs: guards in `practice/lib/triggers.py`, stamps in
`practice/lib/stamps.py`, and the search in `practice/project/find/watching.py`.
"""

from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass

from django.db import transaction

# Only triggers that are switched on. On PostgreSQL each comes with the function that it calls.
THERE = {
    "sqlite": "SELECT tbl_name, name, '', '', sql FROM sqlite_master WHERE type = 'trigger' ORDER BY name",
    "postgresql": "SELECT relname, tgname, proname, prosrc, pg_get_triggerdef(pg_trigger.oid, true)"
    " FROM pg_trigger JOIN pg_class ON pg_class.oid = tgrelid JOIN pg_proc ON pg_proc.oid = tgfoid"
    " WHERE NOT tgisinternal AND tgenabled = 'O' AND relnamespace = current_schema()::regnamespace"
    " ORDER BY tgname",
}
# By table, the statements that make its triggers.
Statements = dict[str, list[str]]


def function(name: str, body: str) -> str:
    """Return what makes a function for triggers on PostgreSQL, which keeps its body word for word."""
    return f"CREATE OR REPLACE FUNCTION {name}() RETURNS trigger AS $${body}$$ LANGUAGE plpgsql"


@dataclass(frozen=True)
class TriggerKind:
    """Triggers for one purpose, by the ends of their names after that of the table: `_no_delete`.

    `function`: how the function ends that the triggers of a table call on PostgreSQL; blank: all tables share
    one. A database keeps the statements that made triggers and functions, so those are what is compared.
    """

    ends: tuple[str, ...]
    function: str = ""

    def found(self, connection) -> Statements:
        """Return the statements that make the triggers of this kind which are there, functions first."""
        with connection.cursor() as cursor:
            cursor.execute(THERE[connection.vendor])
            rows = cursor.fetchall()
        found: dict[str, dict[str, None]] = defaultdict(dict)
        for table, name, called, body, statement in rows:
            if name in [table + end for end in self.ends]:
                made = [function(called, body), statement] if called else [statement]
                found[table] |= dict.fromkeys(made)
        return {table: list(statements) for table, statements in found.items()}

    def wrong(self, connection, wanted: Statements) -> list[str]:
        """Return the tables whose triggers of this kind are missing, others, or not wanted."""
        found = self.found(connection)
        return [table for table in {**found, **wanted} if found.get(table) != wanted.get(table)]

    def mend(self, connection, tables: Collection[str], wanted: Statements) -> None:
        """Let these tables have what is wanted, and no other triggers of this kind."""
        if not tables:
            return
        with transaction.atomic(using=connection.alias), connection.cursor() as cursor:
            for table in tables:
                for statement in [*self._drop(connection, table), *wanted.get(table, [])]:
                    cursor.execute(statement)

    def let_go(self, connection) -> None:
        """Drop them before migrations: SQLite rebuilds no table that the trigger of another one names."""
        self.mend(connection, self.found(connection), {})

    def _drop(self, connection, table: str) -> list[str]:
        is_postgresql = connection.vendor == "postgresql"
        of_table = f" ON {table}" if is_postgresql else ""
        triggers = [f"DROP TRIGGER IF EXISTS {table}{end}{of_table}" for end in self.ends]
        if is_postgresql and self.function:
            return [*triggers, f"DROP FUNCTION IF EXISTS {table}{self.function}()"]
        return triggers
