"""Books in folders of their own, to go back and forth between within one test."""

import contextlib
import os
import shutil
from dataclasses import dataclass
from pathlib import Path

import pytest
from django.conf import settings
from django.db import connection


@dataclass(frozen=True)
class Book:
    """A data folder with its SQLite file."""

    folder: Path

    @property
    def file(self) -> Path:
        return self.folder / "roundbook.sqlite3"

    def copied_to(self, folder: Path) -> "Book":
        """Return a copy; nobody has this one open."""
        shutil.copytree(self.folder, folder)
        return Book(folder)

    @contextlib.contextmanager
    def opened(self):
        """Let the program work on this book, in this process and in those that it starts."""
        with pytest.MonkeyPatch.context() as patch:
            patch.setenv("ROUNDBOOK_DATA", os.fspath(self.folder))
            patch.setattr(settings, "DATA_DIR", self.folder)
            patch.setitem(connection.settings_dict, "NAME", os.fspath(self.file))
            connection.close()
            connection.ensure_connection()
            try:
                yield self
            finally:
                connection.close()
