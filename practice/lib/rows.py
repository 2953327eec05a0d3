"""What rows of several apps have in common: a UUID, the writer's own key, an archive."""

import uuid

from django.core.exceptions import ValidationError
from django.db import models


class Identified(models.Model):
    """A row whose writer may choose its UUID, so that saving the same thing twice gives one row."""

    uuid = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)

    class Meta:
        abstract = True


class ReferencedQuerySet(models.QuerySet):
    def by_key(self, key: str):
        """Return the row with this ref, else the one with this UUID.

        Raises the model's DoesNotExist.
        """
        row = self.filter(ref=key).first() if key else None
        if row:
            return row
        try:
            return self.get(uuid=key)
        except (ValidationError, ValueError):
            raise self.model.DoesNotExist(f"no {self.model._meta.verbose_name} {key!r}") from None


class Referenced(Identified):
    """A row of a file that has a `ref`: the writer's own key, unique within its file, blank = not given."""

    ref = models.CharField(max_length=200, blank=True, default="")

    objects = ReferencedQuerySet.as_manager()

    class Meta:
        abstract = True
        constraints = [
            models.UniqueConstraint(
                fields=["ref"],
                condition=~models.Q(ref=""),
                name="%(app_label)s_%(class)s_ref_is_unique",
                violation_error_message="Another row has this ref.",
            )
        ]

    @property
    def key(self) -> str:
        """The ref, or the UUID where none was given: what files and JSON call this row."""
        return self.ref or str(self.uuid)


class NamedQuerySet(ReferencedQuerySet):
    def named(self, words: str):
        """Rows whose name holds these words, in capitals or not; all rows where there are none."""
        return self.filter(name__icontains=words) if words else self


class ArchivableQuerySet(NamedQuerySet):
    def current(self, archived: bool = False):
        """Rows that are not archived, or only those that are."""
        return self.filter(archived=archived)


class Archivable(Referenced):
    """A row that history points to: archived, never deleted."""

    archived = models.BooleanField(default=False)

    objects = ArchivableQuerySet.as_manager()

    class Meta(Referenced.Meta):
        abstract = True


def positive(field: str, name: str) -> models.CheckConstraint:
    """Return the constraint that an exact column is above 0."""
    return models.CheckConstraint(condition=models.Q(**{f"{field}__gt": 0}), name=name)


def not_negative(field: str, name: str) -> models.CheckConstraint:
    """Return the constraint that an exact column is 0 or more, or not given."""
    return models.CheckConstraint(
        condition=models.Q(**{f"{field}__gte": 0}) | models.Q(**{f"{field}__isnull": True}), name=name
    )


def percent(field: str, name: str) -> models.CheckConstraint:
    """Return the constraint that an exact column is 0 to 100, or not given."""
    within = models.Q(**{f"{field}__gte": 0, f"{field}__lte": 100})
    return models.CheckConstraint(condition=within | models.Q(**{f"{field}__isnull": True}), name=name)
