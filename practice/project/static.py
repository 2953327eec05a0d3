"""The static files that the server hands out: collected again only after the program changed."""

import hashlib

from django.conf import settings
from django.contrib.staticfiles.finders import get_finders
from django.core.management import call_command

# Files of packages that no page uses: compressing each file twice takes a while.
UNUSED = ["htmx-4*", "htmax*", "htmx-2.js", "ext", "django_tables2"]


def collect_static() -> None:
    """Collect, hash and compress the static files if they changed since the last time."""
    stamp, now = settings.DATA_DIR / "static.stamp", _digest()
    if not stamp.exists() or stamp.read_text() != now:
        stamp.unlink(missing_ok=True)
        call_command("collectstatic", interactive=False, clear=True, verbosity=0, ignore_patterns=UNUSED)
        stamp.write_text(now)


def _digest() -> str:
    """Return one digest of every static file's name and content, and of where and how they are collected."""
    digest = hashlib.sha256(f"{settings.VERSION} {settings.STATIC_ROOT} {settings.STORAGES}".encode())
    for finder in get_finders():
        for name, storage in finder.list(UNUSED):
            with storage.open(name) as file:
                digest.update(name.encode() + hashlib.sha256(file.read()).digest())
    return digest.hexdigest()
