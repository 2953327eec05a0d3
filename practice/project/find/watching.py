"""The triggers that note what the search has to look at again.

Every way to write a row passes them: pages, imports, merges and their undoing, plain SQL. They only note
which row it was (`FindNote`), because no database folds a name by itself.
"""

from collections.abc import Callable
from dataclasses import dataclass

from practice.lib.trigger_kinds import Statements, TriggerKind, function
from practice.project.find.folding import FOLDING
from practice.project.find.kinds import KINDS

NOTES = "find_note"
# On SQLite one for each event, on PostgreSQL one for all.
NOTING = TriggerKind(("_find_delete", "_find_insert", "_find_update", "_find"), function="_find_note")


@dataclass(frozen=True)
class Watched:
    """A table whose rows are found, and the columns that matter for that."""

    table: str
    kind: str
    columns: tuple[str, ...]

    def differs(self, is_other: str) -> str:
        return " OR ".join(f'OLD."{name}" {is_other} NEW."{name}"' for name in self.columns)

    def note(self, row: str) -> str:
        return f"""INSERT INTO {NOTES} ("kind", "key") VALUES ('{self.kind}', {row}.id);"""


def watched() -> list[Watched]:
    return [Watched(kind.model._meta.db_table, code, kind.columns) for code, kind in KINDS.items()]


def bring_watchers(connection) -> bool:
    """Leave these triggers in the database, and no others of theirs; return whether any was changed."""
    wrong = wrong_watchers(connection)
    NOTING.mend(connection, wrong, _wanted(connection))
    return bool(wrong)


def wrong_watchers(connection) -> list[str]:
    """Return the tables whose triggers are missing or others."""
    return NOTING.wrong(connection, _wanted(connection))


def _wanted(connection) -> Statements:
    statements = STATEMENTS[connection.vendor]
    return {each.table: statements(each) for each in watched()}


def on_sqlite(each: Watched) -> list[str]:
    columns = ", ".join(f'"{name}"' for name in each.columns)
    events = (
        ("delete", "DELETE", "", "OLD"),
        ("insert", "INSERT", "", "NEW"),
        ("update", f"UPDATE OF {columns}", f" WHEN {each.differs('IS NOT')}", "NEW"),
    )
    return [
        f"CREATE TRIGGER {each.table}_find_{name} AFTER {event} ON {each.table}{when}"
        f" BEGIN /* {FOLDING} */ {each.note(row)} END"
        for name, event, when, row in events
    ]


def on_postgresql(each: Watched) -> list[str]:
    body = (
        f" BEGIN /* {FOLDING} */ IF TG_OP = 'DELETE' THEN {each.note('OLD')}"
        f" ELSIF TG_OP = 'INSERT' OR {each.differs('IS DISTINCT FROM')} THEN {each.note('NEW')} END IF;"
        " RETURN NULL; END "
    )
    return [
        function(f"{each.table}_find_note", body),
        f"CREATE TRIGGER {each.table}_find AFTER INSERT OR DELETE OR UPDATE OF {', '.join(each.columns)}"
        f" ON {each.table} FOR EACH ROW EXECUTE FUNCTION {each.table}_find_note()",
    ]


STATEMENTS: dict[str, Callable[[Watched], list[str]]] = {"sqlite": on_sqlite, "postgresql": on_postgresql}
