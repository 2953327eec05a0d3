"""Putting a copy in place of the book: all of it or nothing, also on a full disk and in a killed process.

1. The copy is unpacked and checked in a draft folder beside the book, after looking for free room.
2. The book that is here is backed up.
3. The draft folder becomes `restoring`. It holds the journal: the mark of the database as it was, and the
   names that the copy's documents have.
4. The database is replaced in one transaction, which also gives it another mark. That decides: a restore
   that ends before it is undone, one that ends after it is finished.
5. The documents that were here are renamed into `restoring`, the copy's out of it. That needs no room, and
   done again it changes nothing.
6. The answers to forms sent before are forgotten, then the journal goes, then the rest of `restoring`.

A copy of an earlier version is then brought up to date. Where that fails, the book that was backed up comes
back.

Whatever ends in between, the next command does the rest (`finish_restore`), and so does a running server
before it answers the next request. Both wait for a restore that still runs, by the lock that this holds all
along. The database goes first, as documents can be renamed any number of times, but only its own transaction
can tell whether the database was replaced.
"""

import json
import os
import shutil
from pathlib import Path
from typing import IO

from django.conf import settings
from django.utils import timezone

from practice.lib.errors import RuleBroken
from practice.lib.kept_files import draft_of, replace_file
from practice.lib.locks import one_at_a_time
from practice.lib.profile import Profile
from practice.project.backup.contents import DOCUMENTS, FOLDER, LOGOS, Contents, documents, lock_file
from practice.project.backup.copies import make_backup
from practice.project.backup.databases import mark_of_book, prepare, put_database
from practice.project.backup.kept import BEFORE_RESTORE, new_copy
from practice.project.backup.reading import unpack
from practice.project.exits import EnvironmentProblem
from practice.project.room import free_room, in_megabytes
from practice.project.upgrading import NotUpgraded, bring_up_to_date

JOURNAL, NEW, OLD = "journal.json", "new", "old"
IS_A_FOLDER = (
    f"This backup was made without pg_dump. Unpack it, then {FOLDER} in it, and bring that folder into an"
    " empty book with import_book."
)
NOT_UPGRADED = "{} is of an earlier version and cannot be brought up to date: {}. Nothing was changed."


def has_book() -> bool:
    """Whether there is anything to lose: a practice or a login."""
    from django.contrib.auth import get_user_model

    return Profile.objects.exists() or get_user_model().objects.exists()


def restore_backup(source: Path, *, replace: bool) -> Path | None:
    """Replace the book with a copy; return where the book that was here is backed up, if there was one.

    All sessions end. Raises RuleBroken, and changes nothing: as `unpack` does, and "book_not_empty" if there
    is a book and `replace` was not asked for. Raises EnvironmentProblem where there is too little room.
    """
    with one_at_a_time(lock_file()) as lock, draft_of(settings.DATA_DIR / "restore") as draft:
        contents = _unpacked(source, draft)
        backed_up = _back_up(replace) if has_book() else None
        try:
            _put_in_place(draft, contents, lock)
        except NotUpgraded as error:
            if backed_up:
                with draft_of(settings.DATA_DIR / "restore") as again:
                    _put_in_place(again, _unpacked(backed_up, again), lock)
            raise RuleBroken("backup_not_upgraded", NOT_UPGRADED.format(source, error.reason)) from error
    return backed_up


def _unpacked(source: Path, draft: Path) -> Contents:
    draft.mkdir(mode=0o700)
    contents, _ = unpack(source, draft / NEW, look_for_room=_look_for_room)
    if contents.database == FOLDER:
        raise RuleBroken("backup_is_a_folder", IS_A_FOLDER)
    return contents


def _put_in_place(draft: Path, contents: Contents, lock: IO) -> None:
    """Make the copy that is unpacked in `draft` the book. Raises NotUpgraded where it then cannot be one."""
    prepare(draft / NEW)
    journal = {"mark": mark_of_book(), "names": _names(contents)}
    replace_file(draft / JOURNAL, json.dumps(journal).encode())
    (draft / OLD).mkdir(mode=0o700)
    os.replace(draft, _folder())
    try:
        try:
            put_database(_folder() / NEW, lock)
        finally:
            _finish_documents()
        bring_up_to_date(is_backed_up=True)
    finally:
        shutil.rmtree(_folder(), ignore_errors=True)


def _look_for_room(contents: Contents, size: int) -> None:
    """Raise EnvironmentProblem unless the disk has room for the copy, for the book twice, and some to spare.

    The book is backed up first; the copy's database is written once more where the book's was.
    """
    here = [*documents(), *settings.DATA_DIR.glob("roundbook.sqlite3*")]
    needed = 2 * size + sum(path.stat().st_size for path in here) + 10_000_000
    free = free_room(settings.DATA_DIR)
    if free < needed:
        raise EnvironmentProblem(
            f"Restoring this backup takes {in_megabytes(needed)} of free disk space, and"
            f" {settings.DATA_DIR} has {in_megabytes(free)}. Free some space, then restore it again."
            " Nothing was changed."
        )


def _back_up(replace: bool) -> Path:
    if not replace:
        raise RuleBroken(
            "book_not_empty",
            "There is already a book here. Add --replace to back it up and then replace it.",
        )
    path = new_copy(BEFORE_RESTORE, timezone.localtime())
    make_backup(path)
    return path


def _names(contents: Contents) -> list[str]:
    """Return what stands in the data folder itself: the folders of documents, and the logo."""
    return sorted({name.split("/")[0] for name in contents.files if name != contents.database})


def _folder() -> Path:
    return settings.DATA_DIR / "restoring"


def is_restoring() -> bool:
    """Whether a restore runs, or was killed and waits for `finish_restore`."""
    return _folder().exists()


def finish_restore() -> None:
    """Finish or undo a restore that was killed, if there was one; wait for one that runs."""
    if is_restoring():
        with one_at_a_time(lock_file()):
            _finish_documents()
            shutil.rmtree(_folder(), ignore_errors=True)


def _finish_documents() -> None:
    """Put the documents in place if the database was."""
    if (_folder() / JOURNAL).exists():
        journal = json.loads((_folder() / JOURNAL).read_text())
        if mark_of_book() != journal["mark"]:
            for name in (*DOCUMENTS, *LOGOS):
                _put_document(name, name in journal["names"])
        (_folder() / JOURNAL).unlink()


def _put_document(name: str, in_copy: bool) -> None:
    """Rename what is here out of the way, and what the copy has to its place, unless that was done before."""
    here, new, old = settings.DATA_DIR / name, _folder() / NEW / name, _folder() / OLD
    if here.exists() and (new.exists() or not in_copy):
        os.replace(here, old / f"{len(list(old.iterdir()))}-{name}")
    if new.exists():
        os.replace(new, here)
