"""Bringing a book up to date: made anew where there is none, else upgraded in one piece, after a backup."""

from pathlib import Path

from django.conf import settings
from django.core.management import call_command
from django.db import connection, transaction

from practice.lib.locks import one_at_a_time
from practice.lib.today import now
from practice.project.backup.copies import make_backup
from practice.project.backup.kept import BEFORE_UPDATE, new_copy
from practice.project.furnish import furnish, is_behind
from practice.project.system import say

OURS = ("billing_", "practice_", "stock_")
# What the program itself brings, or what serves once.
NOT_ENTERED = {"billing_mileagerate", "practice_pairingcode", "practice_press"}


class NotUpgraded(Exception):
    """A migration failed, and the book is as it was; the message names its backup, `reason` what failed."""

    def __init__(self, reason: str, backup: Path | None):
        kept = f" Its backup is {backup}." if backup else ""
        super().__init__(
            f"The book could not be brought up to date and is as it was before.{kept} What failed: {reason}"
        )
        self.reason = reason


def bring_up_to_date(is_backed_up: bool = False) -> None:
    """Create the book if there is none, or bring an older one up to date; one process at a time.

    One with rows is backed up first. Raises NotUpgraded where a migration fails; then the book is as it was.
    """
    # Looking takes the lock too: SQLite refuses a second process while the first one sets up a new file.
    with one_at_a_time(settings.DATA_DIR / "migrate.lock"):
        if not is_behind():
            furnish()
            return
        backup = None if is_backed_up or not has_rows() else _back_up()
        try:
            migrate_in_one_piece()  # which furnishes the book as well
        except Exception as error:
            raise NotUpgraded(" ".join(str(error).split()).removesuffix("."), backup) from error
        if backup:
            say(f"The book was brought up to date. As it was before, it is kept in {backup}.")


def has_rows() -> bool:
    """Whether anything was entered in a book, which may be of an earlier version."""
    with connection.cursor() as cursor:
        for table in connection.introspection.table_names(cursor):
            if table == "auth_user" or (table.startswith(OURS) and table not in NOT_ENTERED):
                cursor.execute(f'SELECT 1 FROM "{table}" LIMIT 1')
                if cursor.fetchone():
                    return True
    return False


def migrate_in_one_piece() -> None:
    """Apply all migrations in one transaction, so that a book is never between two versions."""
    # SQLite rebuilds tables, which its foreign keys would stop, and takes no change of that in a transaction.
    connection.disable_constraint_checking()
    try:
        with transaction.atomic():
            call_command("migrate", verbosity=0, interactive=False)
    finally:
        connection.enable_constraint_checking()


def _back_up() -> Path:
    path = new_copy(BEFORE_UPDATE, now())
    make_backup(path)
    return path
