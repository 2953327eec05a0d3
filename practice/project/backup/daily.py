"""The copy of the day: made by itself when the book is first used, and kept for a while."""

import logging
from datetime import date, datetime

from django.conf import settings

from practice.lib.errors import RuleBroken
from practice.lib.locks import one_at_a_time
from practice.project.backup.contents import documents, lock_file
from practice.project.backup.copies import make_backup
from practice.project.backup.keeping import to_delete
from practice.project.backup.kept import (
    DAILY,
    KeptCopy,
    backups_folder,
    copies_in,
    copy_called,
    new_copy,
    newest_copy,
)
from practice.project.backup.restoring import has_book
from practice.project.backup.second import bring_second_folder, second_folder_lacks_any
from practice.project.backup.state import note
from practice.project.exits import EnvironmentProblem
from practice.project.room import free_room, in_megabytes, is_full

log = logging.getLogger("roundbook")
TO_SPARE = 50_000_000  # bytes: what the book itself needs until somebody has made room


def back_up_today(now: datetime) -> tuple[KeptCopy, bool]:
    """Return the newest copy of today, made now if there is none, and whether it was made now.

    Raises as `back_up` does.
    """
    with one_at_a_time(lock_file()):
        copy = newest_copy(now.date())
        if copy:
            bring_second_folder(now.date())
        return (copy, False) if copy else (_back_up(now), True)


def back_up(now: datetime) -> KeptCopy:
    """Make a copy, also in the second folder, and delete those that are no longer kept.

    Raises as `make_backup` does, and EnvironmentProblem where there is too little room. What went wrong is
    noted for the pages as well.
    """
    with one_at_a_time(lock_file()):
        return _back_up(now)


def _back_up(now: datetime) -> KeptCopy:
    path = new_copy(DAILY, now)
    try:
        if not path.exists():  # else it was made within this second
            _look_for_room()
            make_backup(path, may_be_folder=True)
    except Exception as error:
        log.error("a backup failed", exc_info=error)
        note(problem=why(error))
        raise
    note(problem="")
    _delete_old(now.date())
    bring_second_folder(now.date())
    return copy_called(path.stem)


def is_due(today: date) -> bool:
    """Whether there is something to do for `back_up_today`."""
    return (newest_copy(today) is None and has_book()) or second_folder_lacks_any(today)


def _delete_old(today: date) -> None:
    copies = {copy.made: copy for copy in copies_in(backups_folder(), DAILY)}
    for moment in to_delete(copies, today):
        copies[moment].path.unlink(missing_ok=True)


def room_needed() -> int:
    """Return how many bytes a copy takes at most, with what checks it, and some to spare."""
    databases = sum(path.stat().st_size for path in settings.DATA_DIR.glob("roundbook.sqlite3*"))
    return 3 * databases + sum(path.stat().st_size for path in documents()) + TO_SPARE


def _look_for_room() -> None:
    """Raise EnvironmentProblem unless the disk has room for a copy, for checking it, and some to spare."""
    needed, free = room_needed(), free_room(settings.DATA_DIR)
    if free < needed:
        raise EnvironmentProblem(
            f"A backup takes up to {in_megabytes(needed)} of free disk space, and {settings.DATA_DIR} has"
            f" {in_megabytes(free)}. Free some space."
        )


def why(error: Exception) -> str:
    """Say in a sentence or two why a backup failed, and what to do."""
    if isinstance(error, RuleBroken | EnvironmentProblem):
        return str(error)
    if is_full(error, settings.DATA_DIR):
        return "The disk of the computer that runs Roundbook is full. Free some space."
    return f"{' '.join(str(error).split()) or type(error).__name__}. Details: {settings.LOG_FILE}"
