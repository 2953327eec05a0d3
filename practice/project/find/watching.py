"""The triggers that note what the search has to look at again.

Every way to write a row passes them: pages, imports, merges and their undoing, plain SQL. They only note
which row it was (`FindNote`), because no database folds a name by itself.
"""

from dataclasses import dataclass

from django.db import transaction

from practice.project.find.folding import FOLDING
from practice.project.find.kinds import KINDS

NOTES = "find_note"


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
    if not wrong:
        return False
    with transaction.atomic(using=connection.alias), connection.cursor() as cursor:
        for statements in wrong.values():
            for statement in statements:
                cursor.execute(statement)
    return True


def wrong_watchers(connection) -> dict[str, list[str]]:
    """Return the tables whose triggers are missing or others, each with the statements that mend that."""
    dialect = WatchingSQLite if connection.vendor == "sqlite" else WatchingPostgreSQL
    wanted = {each.table: dialect.statements(each) for each in watched()}
    with connection.cursor() as cursor:
        found = dialect.found(cursor)
    return {
        table: [*dialect.drop(table), *wanted.get(table, [])]
        for table in {**found, **wanted}
        if found.get(table) != wanted.get(table)
    }


def let_go_of_watchers(connection) -> None:
    """Drop the triggers before migrations: SQLite rebuilds no table that another one's trigger names."""
    if connection.vendor != "sqlite":
        return
    with connection.cursor() as cursor:
        for table in WatchingSQLite.found(cursor):
            for statement in WatchingSQLite.drop(table):
                cursor.execute(statement)


class WatchingSQLite:
    """The database keeps the statement that made a trigger, so that is what is compared."""

    @staticmethod
    def statements(each: Watched) -> list[str]:
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

    @staticmethod
    def found(cursor) -> dict[str, list[str]]:
        cursor.execute("SELECT tbl_name, name, sql FROM sqlite_master WHERE type = 'trigger' ORDER BY name")
        found: dict[str, list[str]] = {}
        for table, name, statement in cursor.fetchall():
            if name in WatchingSQLite.names(table):
                found.setdefault(table, []).append(statement)
        return found

    @staticmethod
    def names(table: str) -> list[str]:
        return [f"{table}_find_{event}" for event in ("delete", "insert", "update")]

    @staticmethod
    def drop(table: str) -> list[str]:
        return [f"DROP TRIGGER IF EXISTS {name}" for name in WatchingSQLite.names(table)]


class WatchingPostgreSQL:
    """One trigger a table calls one function; the database keeps the body of that word for word."""

    @staticmethod
    def statements(each: Watched) -> list[str]:
        body = (
            f" BEGIN /* {FOLDING} */ IF TG_OP = 'DELETE' THEN {each.note('OLD')}"
            f" ELSIF TG_OP = 'INSERT' OR {each.differs('IS DISTINCT FROM')} THEN {each.note('NEW')} END IF;"
            " RETURN NULL; END "
        )
        return [
            WatchingPostgreSQL.function(f"{each.table}_find_note", body),
            f"CREATE TRIGGER {each.table}_find AFTER INSERT OR DELETE OR UPDATE OF {', '.join(each.columns)}"
            f" ON {each.table} FOR EACH ROW EXECUTE FUNCTION {each.table}_find_note()",
        ]

    @staticmethod
    def function(name: str, body: str) -> str:
        return f"CREATE FUNCTION {name}() RETURNS trigger AS $${body}$$ LANGUAGE plpgsql"

    @staticmethod
    def found(cursor) -> dict[str, list[str]]:
        cursor.execute(
            "SELECT relname, tgname, proname, prosrc, pg_get_triggerdef(pg_trigger.oid, true) FROM pg_trigger"
            " JOIN pg_class ON pg_class.oid = tgrelid JOIN pg_proc ON pg_proc.oid = tgfoid"
            " WHERE NOT tgisinternal AND tgenabled = 'O' AND relnamespace = current_schema()::regnamespace"
        )
        return {
            table: [WatchingPostgreSQL.function(function, body), trigger]
            for table, name, function, body, trigger in cursor.fetchall()
            if name == f"{table}_find"
        }

    @staticmethod
    def drop(table: str) -> list[str]:
        return [
            f"DROP TRIGGER IF EXISTS {table}_find ON {table}",
            f"DROP FUNCTION IF EXISTS {table}_find_note()",
        ]
