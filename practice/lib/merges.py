"""Two entries of one client, horse, place or item that were made one: the record of it.

The entry that stays gets every row of the other one, which is deleted. What it was, what moved and what was
left out is kept here, so that it can be undone within the day. The guards of facts let a row follow only
while `moving` is set, in the transaction of the merge itself (`practice/lib/triggers.py`).
"""

from dataclasses import dataclass
from datetime import date

from django.db import models
from django.db.models import Model, Q
from django.utils import timezone

from practice.lib import formats
from practice.lib.profile import Profile


class MergeQuerySet(models.QuerySet):
    def into(self, row: Model):
        """Those whose entry that stayed is this one, the latest first."""
        kind = row._meta.model_name
        return self.filter(kind=kind, kept=row.key, undone_at=None).order_by("-at", "-pk")


class Merge(models.Model):
    """An entry that was entered twice, and became one with another.

    `kept` and `taken` are keys, `name` is what the other one was called. `moved` says in words how many rows
    followed. `kept_pk`, `taken_pk` and `to_undo` are of the book in which it was done: blank in one that was
    imported, where it cannot be undone.
    """

    class Kind(models.TextChoices):
        CLIENT = "client", "Client"
        HORSE = "horse", "Horse"
        PLACE = "place", "Place"
        ITEM = "item", "Item"

    kind = models.CharField(max_length=10, choices=Kind)
    kept = models.CharField(max_length=200, db_index=True)
    taken = models.CharField(max_length=200)
    name = models.CharField(max_length=200)
    at = models.DateTimeField()
    by = models.CharField(max_length=150, blank=True, default="")
    moved = models.TextField(blank=True, default="")
    undone_at = models.DateTimeField(null=True, blank=True)
    kept_pk = models.BigIntegerField(null=True, blank=True)
    taken_pk = models.BigIntegerField(null=True, blank=True)
    to_undo = models.JSONField(null=True, blank=True)
    moving = models.BooleanField(default=False)

    objects = MergeQuerySet.as_manager()

    class Meta:
        app_label = "practice"
        constraints = [
            models.CheckConstraint(
                condition=Q(moving=False) | Q(kept_pk__isnull=False, taken_pk__isnull=False),
                name="practice_merge_moves_between_two",
            ),
        ]

    def __str__(self):
        return f"{self.name} into {self.kept}"

    def can_be_undone(self, on: date) -> bool:
        """Whether a day is the one on which it was done, in this book."""
        is_here = self.to_undo is not None and self.undone_at is None
        return is_here and timezone.localtime(self.at).date() == on


@dataclass(frozen=True)
class MergedEntry:
    """What the page of the entry that stayed says of another; `undo` is its key while it can be undone."""

    text: str
    undo: int | None


def merged_into(row: Model, on: date, profile: Profile) -> list[MergedEntry]:
    """Return the entries that were merged into this one, the latest first."""
    return [
        MergedEntry(
            f"Merged with a second entry, {merge.name}, on"
            f" {formats.medium_date(timezone.localtime(merge.at).date(), profile.locale)}.",
            merge.pk if merge.can_be_undone(on) else None,
        )
        for merge in Merge.objects.into(row)
    ]
