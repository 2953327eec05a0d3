"""The photos of a horse, as its pages show them."""

from collections.abc import Iterable
from dataclasses import dataclass

from django.urls import reverse

from practice.lib import formats
from practice.lib.profile import Profile
from practice.models import Finding, Horse, Photo

SHOWN = 6


@dataclass(frozen=True)
class ShownPhoto:
    """A photo and what is said of it."""

    photo: Photo
    profile: Profile

    @property
    def url(self) -> str:
        return self.photo.get_absolute_url()

    @property
    def file_url(self) -> str:
        return reverse("practice:horse-photo", args=[self.photo.pk])

    @property
    def small_url(self) -> str:
        return reverse("practice:small-photo", args=[self.photo.pk])

    @property
    def words(self) -> str:
        """What it shows, and when it was taken."""
        day = formats.medium_date(self.photo.taken_on, self.profile.locale)
        return f"{self.photo.get_what_display()}, {day}"

    @property
    def alt(self) -> str:
        """What a screen reader says in its place."""
        return f"{self.words}: {self.photo.note}" if self.photo.note else self.words


@dataclass(frozen=True)
class HorsePhotos:
    """The photos of a horse that a page shows, the latest first, of `count`."""

    horse: Horse
    photos: list[ShownPhoto]
    count: int

    @property
    def has_more(self) -> bool:
        return self.count > len(self.photos)


def photos_of_finding(finding: Finding, profile: Profile) -> list[ShownPhoto]:
    return [ShownPhoto(photo, profile) for photo in finding.photos.order_by("pk")]


def photos_of(horse: Horse, profile: Profile, limit: int | None = SHOWN) -> HorsePhotos:
    """Return the latest photos of a horse."""
    rows = horse.photos.order_by("-taken_on", "-pk")
    shown = shown_photos(rows[:limit], profile)
    return HorsePhotos(horse, shown, rows.count() if limit else len(shown))


def shown_photos(photos: Iterable[Photo], profile: Profile) -> list[ShownPhoto]:
    """Return photos as a page shows them."""
    return [ShownPhoto(photo, profile) for photo in photos]
