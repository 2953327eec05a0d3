"""What was uploaded and is not brought in yet: kept in the data folder between the steps, for a day.

It is a file that only the practice can read. It goes when its rows are in the book, or a day after its last
change; so does what was unpacked of a folder. What the columns meant is remembered for the next file with the
same headings.
"""

import contextlib
import hashlib
import json
import shutil
import time
from dataclasses import asdict, dataclass, field
from pathlib import Path
from uuid import UUID, uuid4

from django.conf import settings

from practice.lib.formats import counted
from practice.lib.kept_files import replace_file
from practice.project.bring_in.headers import bare, find_headings, guess
from practice.project.bring_in.kinds import KINDS
from practice.project.bring_in.meanings import SheetKind
from practice.project.bring_in.sheets import SheetOfText

KEPT_SECONDS = 24 * 60 * 60
REMEMBERED, MOST_REMEMBERED = "columns.json", 100


@dataclass
class Upload:
    """A file that is being brought in: its sheets, what its columns mean, and what was changed of it since.

    Rows and columns count from 0. `mended`: cells typed anew, by row and column. `answers`: which of
    several of one name is meant.
    """

    key: UUID
    kind_code: str
    name: str
    sheets: list[SheetOfText]
    at_sheet: int = 0
    heading_row: int = 0
    meanings: dict[int, str] = field(default_factory=dict)
    options: dict[str, str] = field(default_factory=dict)
    mended: dict[int, dict[int, str]] = field(default_factory=dict)
    left_out: set[int] = field(default_factory=set)
    answers: dict[str, str] = field(default_factory=dict)

    @property
    def kind(self) -> SheetKind:
        return KINDS[self.kind_code]

    @property
    def sheet(self) -> SheetOfText:
        return self.sheets[self.at_sheet]

    @property
    def where(self) -> str:
        """The file and the sheet in words: `The sheet Horses of barns.xlsx`."""
        named = len(self.sheets) > 1
        return f"The sheet {self.sheet.name} of {self.name}" if named else self.name

    @property
    def put_back_words(self) -> str:
        """What the button says that takes the rows left out back in."""
        return f"Put {counted(len(self.left_out), 'row')} back in"

    @property
    def headings(self) -> list[str]:
        """The heading of each column that holds anything, blank for one without."""
        rows = self.sheet.rows[self.heading_row :]
        width = max(map(len, rows), default=0)
        return [*rows[0], *[""] * (width - len(rows[0]))] if rows else []

    def rows(self) -> dict[int, list[str]]:
        """Return the rows under the headings that hold anything, by their number, as mended.

        The headings themselves, which some programs print on every page, are left out.
        """
        found, headings = {}, self.headings
        for number, cells in enumerate(self.sheet.rows[self.heading_row + 1 :], start=self.heading_row + 1):
            cells = [*cells, *[""] * (len(headings) - len(cells))]
            for column, text in self.mended.get(number, {}).items():
                cells[column : column + 1] = [text]
            if any(cells) and cells != headings:
                found[number] = cells
        return found

    def choose_sheet(self, number: int) -> None:
        """Go on with another sheet: its headings are looked for, and what they meant last time comes back."""
        self.at_sheet, self.heading_row = number, find_headings(self.sheets[number].rows, self.kind)
        self.forget_changes()
        self.read_headings()

    def read_headings(self) -> None:
        """Give each column the meaning that it had in the last file with these headings, else a guess."""
        known = _remembered().get(_mark_of(self))
        if known:
            columns = {int(column): code for column, code in known["meanings"].items()}
            self.meanings = {column: code for column, code in columns.items() if self.kind.has(code)}
            self.options = dict(known["options"])
        else:
            self.meanings, self.options = guess(self.headings, self.kind), {}

    def forget_changes(self) -> None:
        self.mended, self.left_out, self.answers = {}, set(), {}

    def remember(self) -> None:
        """Remember the meanings for the next file with these headings."""
        known = _remembered()
        known.pop(_mark_of(self), None)
        known[_mark_of(self)] = {"meanings": self.meanings, "options": self.options}
        kept = dict(list(known.items())[-MOST_REMEMBERED:])
        replace_file(folder() / REMEMBERED, json.dumps(kept).encode())

    def save(self) -> None:
        state = asdict(self) | {"key": self.key.hex, "left_out": sorted(self.left_out)}
        replace_file(_path(self.key), json.dumps(state).encode())

    def delete(self) -> None:
        _path(self.key).unlink(missing_ok=True)


def new_upload(kind: SheetKind, name: str, sheets: list[SheetOfText]) -> Upload:
    """Keep a file's sheets and return it, at the sheet of which the most headings are known."""
    clear_old_uploads()
    upload = Upload(uuid4(), kind.code, name[:200], sheets)
    upload.choose_sheet(max(range(len(sheets)), key=lambda number: _known_headings(sheets[number], kind)))
    upload.save()
    return upload


def _known_headings(sheet: SheetOfText, kind: SheetKind) -> int:
    return len(guess(sheet.rows[find_headings(sheet.rows, kind)], kind))


def upload_of(key: UUID) -> Upload | None:
    """Return what is kept under this key; None where it was brought in already, or is older than a day."""
    clear_old_uploads()
    try:
        state = json.loads(_path(key).read_bytes())
    except FileNotFoundError:
        return None
    sheets = [SheetOfText(**sheet) for sheet in state.pop("sheets")]
    upload = Upload(**state | {"key": key, "sheets": sheets, "left_out": set(state["left_out"])})
    upload.meanings = {int(column): code for column, code in upload.meanings.items()}
    upload.mended = {
        int(row): {int(column): text for column, text in cells.items()}
        for row, cells in upload.mended.items()
    }
    return upload


def clear_old_uploads() -> None:
    """Delete what nobody went on with for a day."""
    since = time.time() - KEPT_SECONDS
    for path in folder().glob("*"):
        with contextlib.suppress(OSError):
            if path.name == REMEMBERED or path.name.startswith(".") or path.lstat().st_mtime > since:
                continue
            if path.is_dir() and not path.is_symlink():
                shutil.rmtree(path, ignore_errors=True)
            else:
                path.unlink(missing_ok=True)


def folder() -> Path:
    """Return the folder of what is being brought in."""
    return settings.DATA_DIR / "bring_in"


def _path(key: UUID) -> Path:
    return folder() / f"{key.hex}.json"


def _mark_of(upload: Upload) -> str:
    """Return what tells a file's headings from those of another one."""
    headings = "\n".join([upload.kind_code, *map(bare, upload.headings)])
    return hashlib.sha256(headings.encode("utf-8", "replace")).hexdigest()


def _remembered() -> dict[str, dict]:
    try:
        known = json.loads((folder() / REMEMBERED).read_bytes())
        return known if isinstance(known, dict) else {}
    except (OSError, ValueError):
        return {}
