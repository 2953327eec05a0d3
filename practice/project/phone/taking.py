"""Takes what a phone sends into the book: each entry once, whatever is sent again."""

from collections.abc import Iterable
from datetime import datetime, timedelta
from pathlib import Path

from django.conf import settings
from django.core.files.uploadedfile import SimpleUploadedFile, UploadedFile
from django.db import transaction
from django.http import HttpRequest
from django.utils import timezone

from practice.lib.kept_files import delete_with_rows, keep_with_rows
from practice.models import PhoneEntry
from practice.project.phone.replay import ReplayOutcome, replay
from practice.project.phone.sent import SentEntry
from practice.project.sent_forms import in_turn

FILES = "phone"
# Longer than a phone keeps asking for an answer that was lost.
KEPT_FOR = timedelta(days=90)
SAVED, TO_SETTLE = PhoneEntry.State.SAVED, PhoneEntry.State.TO_SETTLE


def take(
    request: HttpRequest, entry: SentEntry, *, is_live: bool = False
) -> tuple[PhoneEntry | None, ReplayOutcome]:
    """Save an entry, or keep it to be settled; return it as it is kept, and what came of it.

    One that arrives while the same one is taken waits here: its row cannot be written twice. With `is_live`
    somebody looks at its form, and is told there what speaks against it: then nothing is kept, unless it
    names a row that the book does not have, so that its form has no page.
    """
    with in_turn(), transaction.atomic():
        kept, is_new = PhoneEntry.objects.select_for_update().get_or_create(
            uuid=entry.uuid,
            defaults={
                "login": entry.login,
                "at": entry.at,
                "received_at": timezone.now(),
                "path": entry.path,
                "title": entry.title,
                "state": SAVED,
            },
        )
        if not is_new:
            return kept, ReplayOutcome(kept.state != TO_SETTLE, kept.code, kept.message, kept.then)
        outcome = replay(request, entry)
        if not outcome.is_saved and is_live and outcome.is_known:
            kept.delete()
            return None, outcome
        kept.state = SAVED if outcome.is_saved else TO_SETTLE
        kept.code, kept.message, kept.then = outcome.code, outcome.message, outcome.then
        if not outcome.is_saved:
            kept.fields = [list(pair) for pair in entry.fields]
            kept.files = keep_files(entry)
        kept.save()
    return kept, outcome


def keep_files(entry: SentEntry) -> list[list[str]]:
    """Keep the files of an entry until it is settled: each with its field, its name here and on the phone."""
    named = [
        [field, f"{entry.uuid.hex}.{number}", file.name] for number, (field, file) in enumerate(entry.files)
    ]
    if named:
        keep_with_rows(
            (kept_file(name), content_of(file))
            for (_, name, _), (_, file) in zip(named, entry.files, strict=True)
        )
    return named


def kept_file(name: str) -> Path:
    """Return where a file of an entry is."""
    return settings.DATA_DIR / FILES / name


def content_of(file: UploadedFile) -> bytes:
    file.seek(0)
    return file.read()


def files_of(kept: PhoneEntry) -> tuple[tuple[str, UploadedFile], ...]:
    """Return the files of an entry that is to settle as they were sent; one that is gone is left out."""
    return tuple(
        (field, SimpleUploadedFile(name, kept_file(here).read_bytes()))
        for field, here, name in kept.files
        if kept_file(here).exists()
    )


def let_files_go(entries: Iterable[PhoneEntry]) -> None:
    """Delete the files of entries that are settled, or forgotten, in this transaction."""
    paths = [kept_file(here) for kept in entries for _, here, _ in kept.files]
    if paths:
        delete_with_rows(paths)


def forget_old_entries(now: datetime) -> None:
    """Delete what was taken so long ago that no phone asks for it again. What is to settle stays."""
    old = PhoneEntry.objects.exclude(state=TO_SETTLE).filter(received_at__lt=now - KEPT_FOR)
    if old.exists():
        let_files_go(old)
        old.delete()
