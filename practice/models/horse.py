from datetime import date, timedelta

from django.db import models
from django.db.models import Exists, F, OuterRef, Q, Subquery
from django.db.models.functions import Coalesce, Greatest
from django.urls import reverse

from practice.lib.fields import ExactField
from practice.lib.rows import NamedQuerySet, Referenced, positive
from practice.models.client import Client, Place
from practice.models.visit import Visit

# Nearly every horse had its last work within this long before the practice's last visit.
LATELY = timedelta(weeks=26)


def _last_visit(visits: models.QuerySet):
    """Return an annotation: the day of the last of these visits that had work on the horse's cycle.

    Looked for from the latest visit back, and among all the work on a horse only where none was lately: so
    it takes no longer in a book of many years.
    """
    ever = visits.filter(work__horse=OuterRef("pk"), work__service__resets_cycle=True)
    ever = ever.order_by("-date").values("date")[:1]
    if not (last := visits.aggregate(last=models.Max("date"))["last"]):
        return Subquery(ever, output_field=models.DateField())
    here = Visit.objects.filter(
        pk=OuterRef("pk"), work__horse=OuterRef(OuterRef("pk")), work__service__resets_cycle=True
    )
    lately = visits.filter(Exists(here), date__gt=last - LATELY).order_by("-date").values("date")[:1]
    return Coalesce(Subquery(lately), Subquery(ever), output_field=models.DateField())


class HorseQuerySet(NamedQuerySet):
    def active(self):
        return self.filter(status=Horse.Status.ACTIVE)

    def with_last_done(self, before: date | None = None):
        """Annotate `last_done`: the day of the last done work that resets the cycle, None for a new horse.

        Someone else may have done it: `last_elsewhere` is the last such day, None where there is none.
        `before`: only what was before that day counts.
        """
        visits, elsewhere = Visit.objects.done(), self.model.objects.filter(events__kind="done elsewhere")
        if before:
            visits, elsewhere = visits.filter(date__lt=before), elsewhere.filter(events__date__lt=before)
        latest = elsewhere.filter(pk=OuterRef("pk")).order_by("-events__date").values("events__date")[:1]
        return self.annotate(
            last_here=_last_visit(visits), last_elsewhere=Subquery(latest, output_field=models.DateField())
        ).annotate(
            last_done=Coalesce(
                Greatest("last_here", "last_elsewhere"),  # of nothing and a day, SQLite makes nothing
                "last_here",
                "last_elsewhere",
            )
        )

    def for_list(self):
        """By name, with the place and `last_done`."""
        return self.select_related("place").with_last_done().order_by("name", "pk")


class Horse(Referenced):
    """A horse with its cycle: the weeks between calls. Its own veterinarian comes before the practice's."""

    class Status(models.TextChoices):
        ACTIVE = "active", "Active"
        AWAY = "away", "Away"
        RETIRED = "retired", "Retired"
        SOLD = "sold", "Sold"
        DIED = "died", "Died"

    name = models.CharField(max_length=200)
    place = models.ForeignKey(Place, null=True, blank=True, on_delete=models.PROTECT, related_name="horses")
    cycle_weeks = models.PositiveSmallIntegerField(default=6)
    next_call = models.DateField(null=True, blank=True)
    born = models.PositiveSmallIntegerField(null=True, blank=True)
    breed = models.CharField(max_length=100, blank=True, default="")
    status = models.CharField(max_length=10, choices=Status, default=Status.ACTIVE)
    cautions = models.TextField(blank=True, default="")
    notes = models.TextField(blank=True, default="")
    vet_name = models.CharField(max_length=200, blank=True, default="")
    vet_phone = models.CharField(max_length=60, blank=True, default="")

    objects = HorseQuerySet.as_manager()

    class Meta(Referenced.Meta):
        constraints = [*Referenced.Meta.constraints, positive("cycle_weeks", "practice_horse_has_a_cycle")]

    def __str__(self):
        return self.name

    def get_absolute_url(self):
        return reverse("practice:horse-detail", args=[self.pk])


class OwnerQuerySet(models.QuerySet):
    def on(self, day):
        """Shares in force on that day (first and last day included), in order of entry."""
        return self.filter(
            Q(valid_from__isnull=True) | Q(valid_from__lte=day),
            Q(valid_to__isnull=True) | Q(valid_to__gte=day),
        ).order_by("pk")


class Owner(models.Model):
    """The share of a client in a horse, in percent, from a day to a day (both included, blank = open)."""

    horse = models.ForeignKey(Horse, on_delete=models.PROTECT, related_name="owners")
    client = models.ForeignKey(Client, on_delete=models.PROTECT, related_name="shares")
    share = ExactField()
    valid_from = models.DateField(null=True, blank=True)
    valid_to = models.DateField(null=True, blank=True)

    objects = OwnerQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(share__gt=0) & Q(share__lte=100), name="practice_owner_share_is_a_percent"
            ),
            models.CheckConstraint(
                condition=Q(valid_from__isnull=True)
                | Q(valid_to__isnull=True)
                | Q(valid_to__gte=F("valid_from")),
                name="practice_owner_ends_after_it_begins",
            ),
        ]

    def __str__(self):
        return f"{self.client} {self.share} % of {self.horse}"

    def holds_on(self, day: date) -> bool:
        """Whether it is in force on that day, as `on` chooses rows."""
        return (self.valid_from or date.min) <= day <= (self.valid_to or date.max)
