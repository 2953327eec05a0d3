"""The two typefaces, served and embedded straight out of their packages: no font file is copied in."""

from importlib.resources import files
from pathlib import Path

from django.contrib.staticfiles.finders import BaseFinder
from django.core.files.storage import FileSystemStorage

PACKAGES = {
    "font_fjallaone": ["FjallaOne-Regular.ttf"],
    "font_source_sans_pro": [
        "SourceSansPro-Regular.ttf",
        "SourceSansPro-It.ttf",
        "SourceSansPro-Semibold.ttf",
        "SourceSansPro-Bold.ttf",
    ],
}


def font_folders() -> dict[Path, list[str]]:
    """Return the folders of the font packages with the files that are used."""
    return {Path(str(files(package) / "files")): names for package, names in PACKAGES.items()}


class FontFinder(BaseFinder):
    """Finds `fonts/NAME.ttf` among the static files."""

    def __init__(self, *args, **kwargs):
        self.storages = []
        for folder, names in font_folders().items():
            storage = FileSystemStorage(location=folder)
            storage.prefix = "fonts"
            self.storages.append((storage, names))

    def check(self, **kwargs):
        return []

    def find(self, path, find_all=False, **kwargs):
        found = [
            storage.path(name)
            for storage, names in self.storages
            for name in names
            if path == f"fonts/{name}"
        ]
        return found if find_all else (found[0] if found else [])

    def list(self, ignore_patterns):
        for storage, names in self.storages:
            for name in names:
                yield name, storage
