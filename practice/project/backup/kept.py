"""The copies in the data folder: what they are called, when each was made, and what is in it."""

import json
import re
import zipfile
from dataclasses import dataclass
from datetime import date, datetime
from functools import lru_cache
from pathlib import Path

from django.conf import settings

from practice.project.backup.contents import LIST
from practice.project.backup.inside import BookCounts

DAILY, BEFORE_RESTORE, BEFORE_UPDATE, OF_DEMO = "roundbook", "before-restore", "before-update", "demo"
NAME = re.compile(rf"({DAILY}|{BEFORE_RESTORE}|{BEFORE_UPDATE}|{OF_DEMO})-([\d-]+)")
# The digits of a name, with those of the microsecond or without.
MOMENTS = {14: "%Y%m%d%H%M%S", 20: "%Y%m%d%H%M%S%f"}
REMEMBERED = 200


@dataclass(frozen=True)
class KeptCopy:
    """A copy in a folder. `kind`: DAILY (also one made by hand), or made before the book changed as a whole.

    `made` is the time by the practice's clock, as the name of the file says.
    """

    path: Path
    kind: str
    made: datetime

    @property
    def name(self) -> str:
        return self.path.stem

    @property
    def size(self) -> int:
        """Its size in bytes."""
        return self.path.stat().st_size

    @property
    def counts(self) -> BookCounts | None:
        """What is in it, as its list says; None where that does not say it, as in an older copy."""
        found = self.path.stat()
        return _counts_of(self.path, found.st_mtime_ns, found.st_size)


def backups_folder() -> Path:
    return settings.DATA_DIR / "backups"


def new_copy(kind: str, made: datetime) -> Path:
    """Return the path of a copy that is made now, named to the microsecond where `made` says it."""
    digits = "%Y-%m-%d-%H%M%S-%f" if made.microsecond else "%Y-%m-%d-%H%M%S"
    return backups_folder() / f"{kind}-{made:{digits}}.zip"


def copies_in(folder: Path, kind: str | None = None) -> list[KeptCopy]:
    """Return the copies in a folder, the newest first; none where the folder is not there."""
    found = [_copy_at(path) for path in folder.glob("*.zip")] if folder.is_dir() else []
    chosen = [copy for copy in found if copy and kind in (None, copy.kind)]
    return sorted(chosen, key=lambda copy: (copy.made, copy.name), reverse=True)


def copy_called(name: str) -> KeptCopy | None:
    """Return the copy of this name in the data folder; None where there is none."""
    copy = _copy_at(backups_folder() / f"{name}.zip")
    return copy if copy and copy.path.is_file() else None


def _copy_at(path: Path) -> KeptCopy | None:
    if not (named := NAME.fullmatch(path.stem)):
        return None
    digits = named[2].replace("-", "")
    try:
        return KeptCopy(path, named[1], datetime.strptime(digits, MOMENTS[len(digits)]))
    except (LookupError, ValueError):
        return None


def newest_copy(on: date | None = None) -> KeptCopy | None:
    """Return the newest copy made by itself or by hand, of that day where one is named; None without."""
    copies = copies_in(backups_folder(), DAILY)
    return next((copy for copy in copies if on in (None, copy.made.date())), None)


@lru_cache(REMEMBERED)
def _counts_of(path: Path, changed: int, size: int) -> BookCounts | None:
    """Read what the list in a copy says; again only where the file became another one."""
    try:
        with zipfile.ZipFile(path) as packed:
            given = json.loads(packed.read(LIST))
        return BookCounts.from_json(given["book"])
    except (OSError, zipfile.BadZipFile, LookupError, TypeError, ValueError):
        return None
