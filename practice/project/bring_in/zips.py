"""The book's folder as one ZIP: unpacked beside the book, without a path, link or size it must not have."""

import shutil
import stat
import zipfile
import zlib
from io import BytesIO
from pathlib import Path, PurePosixPath
from uuid import UUID, uuid4

from practice.lib.errors import RuleBroken
from practice.lib.kept_files import draft_of
from practice.project.book.files_folder import FILES_FOLDER
from practice.project.bring_in.uploads import clear_old_uploads, folder

MOST_FILES, LARGEST_UNPACKED = 5_000, 200_000_000
LONGEST_NAME = 200
PACK_ANEW = "Put the CSV files, and nothing else, into one ZIP file and choose that."
# What file managers add by themselves.
ADDED = "__MACOSX"


def keep_folder(content: bytes) -> UUID:
    """Unpack a ZIP and return the key of the folder.

    Raises RuleBroken for what is no ZIP or is damaged, too large, locked, or leads out of its folder.
    """
    clear_old_uploads()
    key = uuid4()
    try:
        with zipfile.ZipFile(BytesIO(content)) as packed, draft_of(folder() / key.hex) as draft:
            parts = _parts_of(packed)
            draft.mkdir(mode=0o700)
            for path, part in parts.items():
                _write(packed, part, draft / path)
            draft.replace(folder() / key.hex)
    except (zipfile.BadZipFile, EOFError, ValueError, NotImplementedError, zlib.error) as error:
        raise RuleBroken("damaged_zip", f"This is not a ZIP file, or it is damaged. {PACK_ANEW}") from error
    return key


def folder_of(key: UUID) -> Path | None:
    """Return the folder that is kept under this key; None where it came in already, or a day has passed."""
    clear_old_uploads()
    path = folder() / key.hex
    return path if path.is_dir() else None


def delete_folder(path: Path) -> None:
    shutil.rmtree(path, ignore_errors=True)


def _parts_of(packed: zipfile.ZipFile) -> dict[str, zipfile.ZipInfo]:
    """Return the files of a ZIP by the path that they get: a CSV file, or a document in the folder `files`.

    One folder around all of them is left away.
    """
    parts = [part for part in packed.infolist() if not part.is_dir() and not _is_added(part.filename)]
    if len(parts) > MOST_FILES or sum(part.file_size for part in parts) > LARGEST_UNPACKED:
        raise RuleBroken("zip_too_large", f"This ZIP file is too large once unpacked. {PACK_ANEW}")
    if any(part.flag_bits & 1 for part in parts):
        raise RuleBroken("zip_locked", f"This ZIP file has a password. {PACK_ANEW}")
    paths = [PurePosixPath(part.filename) for part in parts]
    tops = {path.parts[0] for path in paths if len(path.parts) > 1}
    around = (
        tops if len(tops) == 1 and tops != {FILES_FOLDER} and all(len(p.parts) > 1 for p in paths) else set()
    )
    found = {}
    for part, path in zip(parts, paths, strict=True):
        inside = PurePosixPath(*path.parts[1:]) if around else path
        if not _is_within(part, inside) or str(inside) in found:
            raise RuleBroken("zip_path", f"This ZIP file has a file that does not belong there. {PACK_ANEW}")
        found[str(inside)] = part
    if not found:
        raise RuleBroken("zip_empty", f"This ZIP file is empty. {PACK_ANEW}")
    return found


def _is_added(name: str) -> bool:
    return name.split("/")[0] == ADDED or name.split("/")[-1].startswith(".")


def _is_within(part: zipfile.ZipInfo, path: PurePosixPath) -> bool:
    """Whether a file is a plain one of the folder itself, or of its folder `files`."""
    mode = part.external_attr >> 16
    is_plain = stat.S_IFMT(mode) in (0, stat.S_IFREG)
    is_named = all(
        name not in ("..", ".")
        and not set(name) & set("\\:/\0")
        and len(name.encode("utf-8", "replace")) <= LONGEST_NAME
        for name in path.parts
    )
    depth = len(path.parts)
    return is_plain and is_named and (depth == 1 or (depth == 2 and path.parts[0] == FILES_FOLDER))


def _write(packed: zipfile.ZipFile, part: zipfile.ZipInfo, path: Path) -> None:
    path.parent.mkdir(exist_ok=True, mode=0o700)
    with packed.open(part) as source, path.open("xb") as target:
        path.chmod(0o600)
        shutil.copyfileobj(source, target, 1 << 20)
