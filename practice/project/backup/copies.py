"""Making a copy."""

import json
import os
import zipfile
from datetime import datetime
from pathlib import Path

from django.conf import settings

from practice.lib.errors import RuleBroken
from practice.lib.kept_files import draft_of
from practice.project.backup.contents import LIST, Contents, copy_hashed, documents
from practice.project.backup.databases import copy_database, rows_inside
from practice.project.backup.reading import check_backup


def make_backup(target: Path, may_be_folder: bool = False) -> Contents:
    """Write a copy of the book and its documents, and verify it before it gets its name.

    `may_be_folder`: where pg_dump is missing, it holds the book's own folder instead of the database.
    Raises RuleBroken("file_exists") if there is such a file, EnvironmentProblem if pg_dump is missing.
    """
    if target.exists():
        raise RuleBroken("file_exists", f"{target} already exists. Choose another name.")
    with draft_of(target) as draft, draft_of(settings.DATA_DIR / "backup") as folder:
        folder.mkdir(mode=0o700)
        with os.fdopen(os.open(draft, os.O_RDWR | os.O_CREAT | os.O_EXCL, 0o600), "w+b") as file:
            _pack(file, copy_database(folder, may_be_folder))
            file.flush()
            os.fsync(file.fileno())
        contents = check_backup(draft)
        os.replace(draft, target)
    return contents


def _pack(file, database: Path) -> None:
    hashes = {}
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as packed:
        for path in (database, *documents()):
            name = database.name if path == database else path.relative_to(settings.DATA_DIR).as_posix()
            try:
                source = path.open("rb")
            except FileNotFoundError:  # deleted in the meantime, with the expense that had it
                continue
            with source:
                entry = zipfile.ZipInfo.from_file(path, name, strict_timestamps=False)
                # Documents are packed already: a second time costs minutes and saves nothing.
                entry.compress_type = zipfile.ZIP_DEFLATED if path == database else zipfile.ZIP_STORED
                with packed.open(entry, "w") as target:
                    hashes[name] = copy_hashed(source, target)
        contents = {
            "version": settings.VERSION,
            "made_at": datetime.now().astimezone().isoformat(timespec="seconds"),
            "database": database.name,
            "files": hashes,
            "book": rows_inside(database).counts.as_json(),
        }
        packed.writestr(LIST, json.dumps(contents, indent=1))
