from datetime import time

from django.db import models
from django.db.models import Q
from django.urls import reverse

from practice.lib.rows import Referenced, ReferencedQuerySet
from practice.models.client import Place


class VisitQuerySet(ReferencedQuerySet):
    def planned(self):
        return self.filter(status=Visit.Status.PLANNED)

    def done(self):
        return self.filter(status=Visit.Status.DONE)

    def in_driving_order(self):
        """By day, then by place in the round, then by arrival, then in order of entry."""
        return self.order_by(
            "date", models.F("position").asc(nulls_last=True), models.F("arrive").asc(nulls_last=True), "pk"
        )

    def for_history(self):
        """The latest first, with the work and its horses."""
        return self.prefetch_related("work__horse").order_by("-date", "-pk")

    def for_round(self):
        """In driving order, with place, vehicle, and the work with its horses."""
        return (
            self.select_related("place", "vehicle")
            .prefetch_related("work__horse", "work__service")
            .in_driving_order()
        )


class Visit(Referenced):
    """One call at one place on one day.

    `locked`: a part of it is invoiced, so that price, quantity, shares, travel and status stand.
    `billed`: it was billed before the book was kept here and is never invoiced.
    `position`: its place in the day's round.
    `arrive`: when it is planned for; `arrived`: when we came, as tapped there. Where the latter is not known,
    `arrive` stands for both.
    """

    class Status(models.TextChoices):
        PLANNED = "planned", "Planned"
        DONE = "done", "Done"
        CANCELLED = "cancelled", "Canceled"

    date = models.DateField(db_index=True)
    place = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="visits")
    status = models.CharField(max_length=10, choices=Status, default=Status.PLANNED)
    arrive = models.TimeField(null=True, blank=True)
    leave = models.TimeField(null=True, blank=True)
    vehicle = models.ForeignKey(
        "practice.Vehicle", null=True, blank=True, on_delete=models.PROTECT, related_name="visits"
    )
    billed = models.BooleanField(default=False)
    note = models.TextField(blank=True, default="")
    position = models.PositiveIntegerField(null=True, blank=True)
    locked = models.BooleanField(default=False)
    arrived = models.TimeField(null=True, blank=True)

    objects = VisitQuerySet.as_manager()

    class Meta(Referenced.Meta):
        constraints = [
            *Referenced.Meta.constraints,
            models.CheckConstraint(
                condition=Q(locked=False) | Q(status="done"), name="practice_visit_locked_is_done"
            ),
        ]

    def __str__(self):
        return f"{self.place}, {self.date}"

    def get_absolute_url(self) -> str:
        return reverse("practice:visit-detail", args=[self.pk])

    def horse_url(self, horse: models.Model) -> str:
        """Return the address of a horse's form at this visit."""
        return reverse("practice:visit-horse", args=[self.pk, horse.pk])

    @property
    def came(self) -> time | None:
        """When we came; when it is planned for, where nobody said so."""
        return self.arrived or self.arrive

    @property
    def is_here(self) -> bool:
        """Whether we came and are not done."""
        return self.status == Visit.Status.PLANNED and self.arrived is not None

    @property
    def is_fixed(self) -> bool:
        """Whether what is billed of it can no longer change."""
        return self.locked or self.billed
