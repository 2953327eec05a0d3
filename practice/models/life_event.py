import datetime

from django.db import models
from django.db.models import Q
from django.utils import timezone

from practice.models.client import Client, Place
from practice.models.horse import Horse


class LifeEventQuerySet(models.QuerySet):
    def for_list(self):
        """The latest first, with what a row of the list names."""
        return self.select_related("horse", "client", "place").order_by("-date", "-pk")


class LifeEvent(models.Model):
    """What became of a horse or a client on a day.

    `client` is who bought the horse (None: someone who is not a client), or who left; `place` is where the
    horse moved. `at` and `by` say when and by whom it was recorded, as far as that is known. `to_undo` is of
    the book in which it was recorded: blank in one that was imported, where it cannot be undone.
    """

    class Kind(models.TextChoices):
        SOLD = "sold", "Sold"
        MOVED = "moved", "Moved"
        AWAY = "away", "Away"
        RETIRED = "retired", "Retired"
        DIED = "died", "Died"
        ELSEWHERE = "done elsewhere", "Done by someone else"
        LEFT = "left", "Left"

    date = models.DateField()
    kind = models.CharField(max_length=20, choices=Kind)
    horse = models.ForeignKey(Horse, null=True, blank=True, on_delete=models.PROTECT, related_name="events")
    client = models.ForeignKey(Client, null=True, blank=True, on_delete=models.PROTECT, related_name="events")
    place = models.ForeignKey(Place, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    note = models.TextField(blank=True, default="")
    at = models.DateTimeField(null=True, blank=True)
    by = models.CharField(max_length=150, blank=True, default="")
    to_undo = models.JSONField(null=True, blank=True)

    objects = LifeEventQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(kind="left", horse__isnull=True, client__isnull=False)
                | (~Q(kind="left") & Q(horse__isnull=False)),
                name="practice_lifeevent_is_of_a_horse_or_a_client",
            ),
        ]

    def __str__(self):
        return f"{self.horse or self.client}: {self.get_kind_display()}, {self.date}"

    @property
    def subject(self) -> Horse | Client:
        """The horse or the client that it is about."""
        return self.horse or self.client

    @property
    def recorded_on(self) -> datetime.date:
        """The day on which it was recorded; its own where that is not known."""
        return timezone.localtime(self.at).date() if self.at else self.date

    def can_be_undone(self, on: datetime.date) -> bool:
        """Whether a day is the one on which it was recorded, in this book."""
        return self.to_undo is not None and self.recorded_on == on
