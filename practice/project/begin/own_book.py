"""Replacing the demo practice by an empty book, while the program runs.

All rows go in the one transaction of the press, so that whoever looks sees the demo or the empty book, and a
process that is killed leaves one of them. Logins, sessions and the answers to presses stay. The documents go
after the commit; a note says which, so that the next command deletes what a killed process left.
"""

import shutil
from pathlib import Path

from django.apps import apps
from django.conf import settings
from django.core.management.color import no_style
from django.db import connection, transaction
from django.utils import timezone

from billing.actions.mail_settings import PASSWORD_FILE
from practice.lib.errors import RuleBroken
from practice.lib.kept_files import delete_with_rows
from practice.lib.profile import Profile
from practice.lib.triggers import bring_guards
from practice.models import Press
from practice.project.backup.contents import documents
from practice.project.backup.copies import make_backup
from practice.project.backup.kept import OF_DEMO, new_copy
from practice.project.find.index import index_all
from practice.project.furnish import furnish

PARTS = ("practice", "stock", "billing")


def can_copy() -> bool:
    """Whether this machine can copy the book first: PostgreSQL's is copied by a program of its own."""
    return connection.vendor == "sqlite" or shutil.which("pg_dump") is not None


def begin_own_book() -> Path | None:
    """Replace the demo practice by an empty book; return where a copy of it is.

    None: this machine cannot copy it, as a program of the database is missing. Raises
    RuleBroken("not_the_demo") for any other book; then nothing is changed.
    """
    with transaction.atomic():
        if not Profile.locked().is_demo:
            raise RuleBroken(
                "not_the_demo", "This is your own book already. Only the demo practice can be replaced."
            )
        copy = _copy_of_demo()
        _delete_all_rows()
        furnish()
        index_all()
        delete_with_rows([*documents(), *_papers(), settings.DATA_DIR / PASSWORD_FILE])
    return copy


def _copy_of_demo() -> Path | None:
    if not can_copy():
        return None
    path = new_copy(OF_DEMO, timezone.localtime())
    make_backup(path)
    return path


def _papers() -> list[Path]:
    """Return the papers that no backup holds, as they are made again when looked at."""
    return [path for path in (settings.DATA_DIR / "credit_notes").rglob("*") if path.is_file()]


def _delete_all_rows() -> None:
    """Delete the rows of every table of the book but the answers to presses, of which this press is one.

    PostgreSQL truncates, which no trigger of a guard sees. On SQLite the guards step aside, and come back
    when the book is furnished. Keys go on where they were, so that no old page leads to a new row.
    """
    models = [
        model for part in PARTS for model in apps.get_app_config(part).get_models(include_auto_created=True)
    ]
    tables = [model._meta.db_table for model in models if model is not Press]
    if connection.vendor == "sqlite":
        bring_guards(connection, [])
    else:
        connection.check_constraints()  # what waits for the commit would stop it from truncating
    with connection.cursor() as cursor:
        for statement in connection.ops.sql_flush(no_style(), tables):
            cursor.execute(statement)
