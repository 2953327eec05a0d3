"""What backing up has to remember between two runs: the second folder, and what last went wrong.

A file of the data folder, not rows of the book: it is about this machine. A restore leaves it as it is, and
it can be written where the database cannot.
"""

import json
import logging
from dataclasses import asdict, dataclass, replace

from django.conf import settings

from practice.lib.kept_files import replace_file

log = logging.getLogger("roundbook")
FILE = "backups.json"


@dataclass(frozen=True)
class BackupState:
    """What is remembered. The problems are sentences, blank where all is well.

    `second` is the folder that was named, blank for none, `second_day` the day of the newest copy that was
    written there, YYYY-MM-DD.
    """

    problem: str = ""
    second: str = ""
    second_problem: str = ""
    second_day: str = ""


# What could not be written to the file: a disk that is full takes no note of it either.
_unwritten: BackupState | None = None


def backup_state() -> BackupState:
    if _unwritten:
        return _unwritten
    try:
        given = json.loads((settings.DATA_DIR / FILE).read_text(encoding="utf-8"))
        return BackupState(**{name: str(given.get(name, "")) for name in asdict(BackupState())})
    except (OSError, ValueError, AttributeError):
        return BackupState()


def note(**changes: str) -> None:
    """Remember changes of the state."""
    global _unwritten
    before = backup_state()
    state = replace(before, **changes)
    if state == before and not _unwritten:
        return
    try:
        replace_file(settings.DATA_DIR / FILE, json.dumps(asdict(state), indent=1).encode())
        _unwritten = None
    except OSError as error:
        log.error("the state of backups cannot be written", exc_info=error)
        _unwritten = state
