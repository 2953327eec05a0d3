"""Files and folders that are there whole or not at all, open to their owner alone.

Each is written as a draft beside its place, `.NAME.LETTERS.draft`, and renamed. Meanwhile a note in the data
folder's `drafts` says where the draft is; who writes holds a lock on the note. A process that is killed lets
go of its lock, so the next command finds the note free and deletes the draft (`clear_drafts`).
"""

import os
import secrets
import shutil
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from django.conf import settings
from django.db import transaction

from practice.lib.locks import try_lock

NOTES, ENDING = "drafts", ".draft"


def keep_file(path: Path, content: bytes, data: Path | None = None) -> None:
    """Write a file whole or not at all; an existing one is left alone.

    `data` names the data folder to the settings, which are not there yet.
    """
    with draft_of(path, data) as draft:
        _write(draft, content)
        try:
            os.link(draft, path)
        except FileExistsError:
            pass
        except OSError:  # a file system without hard links
            draft.replace(path)


def replace_file(path: Path, content: bytes) -> None:
    """Write a file whole or not at all, in place of an existing one."""
    with draft_of(path) as draft:
        _write(draft, content)
        draft.replace(path)


def keep_with_rows(files: Iterable[tuple[Path, bytes]]) -> None:
    """Write files that rows of this transaction name; where it is not committed, they go.

    A note on them stands until the commit. One that nobody holds is of a transaction that never came to its
    end: `clear_lost_files` deletes its files unless other rows name them.
    """
    note_path, note = _locked_note(_notes(None))
    for path, content in files:
        note.write(f"{path}\n")
        note.flush()
        keep_file(path, content)

    def drop():
        note_path.unlink(missing_ok=True)
        note.close()

    transaction.on_commit(drop)


def delete_with_rows(files: Iterable[Path]) -> None:
    """Delete files whose rows this transaction deletes; where it is not committed, they stay.

    A note on them stands from before the commit. Of a process that is killed in between, `clear_lost_files`
    deletes those that no row names.
    """
    paths = list(files)
    note_path, note = _locked_note(_notes(None))
    note.write("".join(f"{path}\n" for path in paths))
    note.flush()

    def delete():
        with note:
            for path in paths:
                path.unlink(missing_ok=True)
            note_path.unlink(missing_ok=True)

    transaction.on_commit(delete)


def clear_lost_files(is_named: Callable[[Path], bool]) -> None:
    """Delete the files whose rows were never committed. `is_named`: whether rows name a file after all."""
    in_use: set[Path] = set()
    for lost in _notes(None).iterdir():
        with suppress(OSError, ValueError), lost.open(encoding="utf-8") as note:
            paths = {Path(line) for line in note.read().splitlines()}
            if not try_lock(note):
                in_use |= paths
            elif all(path.is_relative_to(settings.DATA_DIR) and not _is_draft(path) for path in paths):
                for path in paths - in_use:
                    if not is_named(path):
                        path.unlink(missing_ok=True)
                lost.unlink()


def _notes(data: Path | None) -> Path:
    notes = (data or settings.DATA_DIR) / NOTES
    notes.mkdir(exist_ok=True, mode=0o700)
    return notes


def _is_draft(path: Path) -> bool:
    return path.name.startswith(".") and path.name.endswith(ENDING)


def _write(draft: Path, content: bytes) -> None:
    with os.fdopen(os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())


@contextmanager
def draft_of(target: Path, data: Path | None = None) -> Iterator[Path]:
    """Yield a name beside `target` for a file or folder that is renamed once it is whole.

    Whatever is left under that name at the end is deleted; after a kill, by the next command.
    """
    target = target.absolute()
    target.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    draft = target.with_name(f".{target.name[:200]}.{secrets.token_hex(4)}{ENDING}")
    path, note = _locked_note(_notes(data))
    with note:
        try:
            note.write(str(draft))
            note.flush()
            yield draft
        finally:
            _delete(draft)
            path.unlink(missing_ok=True)


def _locked_note(notes: Path):
    """Return a new note and its open file, locked; another where it was cleared before the lock was on it."""
    while True:
        path = notes / secrets.token_hex(8)
        note = path.open("x", encoding="utf-8")
        if try_lock(note) and path.exists():
            return path, note
        note.close()


def clear_drafts() -> None:
    """Delete the drafts of processes that are no more; those of running ones stay."""
    with suppress(FileNotFoundError):
        for path in list((settings.DATA_DIR / NOTES).iterdir()):
            with suppress(OSError, ValueError), path.open(encoding="utf-8", errors="replace") as note:
                if try_lock(note):
                    left = Path(note.read())
                    if left.is_absolute() and _is_draft(left):
                        _delete(left)
                    elif left.is_relative_to(settings.DATA_DIR):
                        continue  # of a transaction: `clear_lost_files` sees to it
                    path.unlink()


def _delete(draft: Path) -> None:
    if draft.is_dir() and not draft.is_symlink():
        shutil.rmtree(draft, ignore_errors=True)
    else:
        draft.unlink(missing_ok=True)
