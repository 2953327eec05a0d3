"""Triggers that refuse to change or delete rows, on SQLite and on PostgreSQL.

Django rebuilds a table on SQLite when a migration alters it, and its triggers are gone without a
word: every such migration makes them again. `tests/stock/test_triggers.py` lists them.
"""

from dataclasses import dataclass


@dataclass(frozen=True)
class Guard:
    """Rows of `table` that may not be changed or deleted; `when` is SQL on `OLD`, blank = every row."""

    table: str
    message: str
    when: str = ""

    def name(self, event: str) -> str:
        return f"{self.table}_no_{event}"


EVENTS = ("update", "delete")


def make(schema_editor, guard: Guard) -> None:
    """Make the triggers of a guard, taking the place of any that are there."""
    drop(schema_editor, guard)
    condition = f" WHEN ({guard.when})" if guard.when else ""
    if schema_editor.connection.vendor == "sqlite":
        for event in EVENTS:
            schema_editor.execute(
                f"CREATE TRIGGER {guard.name(event)} BEFORE {event.upper()} ON {guard.table}{condition}"
                f" BEGIN SELECT RAISE(ABORT, '{guard.message}'); END"
            )
        return
    schema_editor.execute(
        f"CREATE OR REPLACE FUNCTION {guard.table}_refuse() RETURNS trigger AS $$ BEGIN"
        f" RAISE EXCEPTION '{guard.message}' USING ERRCODE = 'integrity_constraint_violation';"
        " END $$ LANGUAGE plpgsql"
    )
    for event in EVENTS:
        schema_editor.execute(
            f"CREATE TRIGGER {guard.name(event)} BEFORE {event.upper()} ON {guard.table}"
            f" FOR EACH ROW{condition} EXECUTE FUNCTION {guard.table}_refuse()"
        )


def drop(schema_editor, guard: Guard) -> None:
    """Drop the triggers of a guard where they are there."""
    on_table = "" if schema_editor.connection.vendor == "sqlite" else f" ON {guard.table}"
    for event in EVENTS:
        schema_editor.execute(f"DROP TRIGGER IF EXISTS {guard.name(event)}{on_table}")
