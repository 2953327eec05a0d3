"""Photos of horses: files in the data folder's `photos`, each named after its content."""

import hashlib
import re
import uuid as uuids
from collections.abc import Iterable
from datetime import date
from pathlib import Path

from django.conf import settings
from django.db import transaction

from practice.lib.kept_files import delete_with_rows, keep_with_rows
from practice.models import Finding, Horse, Photo, Visit

PHOTOS = "photos"
NAME = re.compile(r"[0-9a-f]{32}\.jpg")


def photo_file(name: str) -> Path:
    """Return where the file of a photo is. Raises ValueError for anything else."""
    if not NAME.fullmatch(name):
        raise ValueError(f"not a photo: {name!r}")
    return settings.DATA_DIR / PHOTOS / name


def photo_name(content: bytes) -> str:
    """Return the name that a clean photo is kept under: the same content has the same name."""
    return f"{hashlib.sha256(content).hexdigest()[:32]}.jpg"


def keep_photos(contents: Iterable[bytes]) -> None:
    """Save photos that `clean_photo` gave, with the rows of this transaction that name them."""
    keep_with_rows((photo_file(photo_name(content)), content) for content in contents)


@transaction.atomic
def add_photos(
    horse: Horse,
    contents: Iterable[bytes],
    on: date,
    *,
    visit: Visit | None = None,
    finding: Finding | None = None,
    what: str = Photo.What.HOOF,
    note: str = "",
    uuid: uuids.UUID | None = None,
) -> list[Photo]:
    """Keep photos of a horse, taken on a day; `contents` are what `clean_photo` gave.

    Sent again with the same `uuid`, those of the first time are returned and nothing changes.
    """
    photos = []
    for number, content in enumerate(contents):
        key = uuids.uuid5(uuid, f"photo {number}") if uuid else uuids.uuid4()
        photo = Photo.objects.filter(uuid=key).first()
        if photo is None:
            keep_photos([content])
            photo = Photo.objects.create(
                uuid=key,
                horse=horse,
                visit=visit,
                finding=finding,
                what=what,
                note=note,
                taken_on=on,
                file=photo_name(content),
            )
        photos.append(photo)
    return photos


@transaction.atomic
def remove_photos(photos: Iterable[Photo]) -> None:
    """Delete photos, with their files unless another photo is the same picture."""
    photos = list(photos)
    Photo.objects.filter(pk__in=[photo.pk for photo in photos]).delete()
    names = {photo.file for photo in photos} - {""}
    named = set(Photo.objects.filter(file__in=names).values_list("file", flat=True))
    delete_with_rows(photo_file(name) for name in sorted(names - named))
