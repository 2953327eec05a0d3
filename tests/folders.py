"""Folders of a book, compared."""

from pathlib import Path


def content_of(folder: Path) -> dict[str, bytes]:
    """Return every file of a folder and of the folders in it."""
    return {str(path.relative_to(folder)): path.read_bytes() for path in folder.rglob("*") if path.is_file()}
