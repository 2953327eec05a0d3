"""The second folder for backups: a USB drive, another disk, a synced folder.

The copies stand in a folder of this book within it, which is made when the second folder is named. Where that
is missing later, the drive is not there, and nothing is written to what is there in its place.
"""

import hashlib
import logging
import os
import shutil
from datetime import date
from pathlib import Path

from django.conf import settings
from django.utils.crypto import salted_hmac

from practice.lib.errors import RuleBroken
from practice.lib.kept_files import ENDING, draft_of
from practice.project.backup.keeping import to_delete
from practice.project.backup.kept import DAILY, KeptCopy, backups_folder, copies_in
from practice.project.backup.state import backup_state, note

log = logging.getLogger("roundbook")
MOST_LETTERS = 1000


def own_folder(second: str) -> Path:
    """Return this book's folder within the second one, so that two books may share that."""
    return Path(second) / f"roundbook-backups-{salted_hmac('backups', 'folder').hexdigest()[:6]}"


def name_second_folder(text: str) -> None:
    """Write copies to this folder, too, from now on; blank: to none.

    Raises RuleBroken: "folder_not_absolute", "folder_not_found", "folder_in_book", "folder_not_writable".
    """
    if not text:
        note(second="", second_problem="", second_day="")
        return
    folder = Path(text)
    if not folder.is_absolute():
        raise RuleBroken("folder_not_absolute", "Type the whole path, such as /media/usb or D:\\Backups.")
    try:
        if not folder.is_dir():
            raise RuleBroken(
                "folder_not_found",
                "There is no such folder on the computer that runs Roundbook. Plug in the drive, or create"
                " the folder first.",
            )
        if folder.resolve().is_relative_to(settings.DATA_DIR):
            raise RuleBroken(
                "folder_in_book",
                "This folder is part of the book's own folder and would be lost with it. Choose another one.",
            )
        own_folder(text).mkdir(mode=0o700, exist_ok=True)
    except OSError as error:
        raise RuleBroken(
            "folder_not_writable",
            f"This folder cannot be written to: {error.strerror}. Choose another one.",
        ) from None
    note(second=text, second_problem="", second_day="")


def bring_second_folder(today: date) -> None:
    """Write to the second folder what it lacks, and delete there what is no longer kept.

    The caller holds the lock of a restore. What goes wrong is noted and logged, not raised.
    """
    second = backup_state().second
    if not second:
        return
    folder = own_folder(second)
    try:
        if not folder.is_dir():
            note(second_problem=f"{second} is not there.")
            return
        _clear_drafts_of_killed(folder)
        here, there = (_by_moment(each) for each in (backups_folder(), folder))
        gone = to_delete(here | there, today)
        for moment in sorted(here.keys() - there.keys() - gone):
            _write(here[moment], folder)
        for moment in gone & there.keys():
            there[moment].path.unlink(missing_ok=True)
    except OSError as error:
        log.error("the second folder for backups fails", exc_info=error)
        note(second_problem=f"{second} could not be written to: {error.strerror}.")
        return
    newest = max(_by_moment(folder), default=None)
    note(second_problem="", second_day=newest.date().isoformat() if newest else "")


def second_folder_lacks_any(today: date) -> bool:
    """Whether the second folder is there and lacks a copy, or came or went since it was last seen to."""
    state = backup_state()
    if not state.second:
        return False
    folder = own_folder(state.second)
    if not folder.is_dir():
        return not state.second_problem
    here, there = (_by_moment(each) for each in (backups_folder(), folder))
    lacking = here.keys() - there.keys() - to_delete(here | there, today)
    return bool(lacking or state.second_problem)


def _by_moment(folder: Path) -> dict:
    return {copy.made: copy for copy in copies_in(folder, DAILY)}


def _write(copy: KeptCopy, folder: Path) -> None:
    """Write a copy to another folder, and read it back before it gets its name."""
    target = folder / copy.path.name
    with draft_of(target) as draft:
        with copy.path.open("rb") as source, draft.open("xb") as file:
            shutil.copyfileobj(source, file, 1 << 20)
            file.flush()
            os.fsync(file.fileno())
        if _digest(draft) != _digest(copy.path):
            raise OSError(None, "what was written cannot be read back")
        os.replace(draft, target)


def _digest(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _clear_drafts_of_killed(folder: Path) -> None:
    """Delete the drafts in the folder. The caller holds the lock, so nobody is writing them."""
    for draft in folder.glob(f".*{ENDING}"):
        draft.unlink(missing_ok=True)
