from django.db import models
from django.db.models import F, Q

from practice.lib.fields import ExactField
from practice.lib.rows import Archivable, Identified, not_negative
from practice.models.visit import Visit
from stock.models import Location


class Vehicle(Archivable):
    """A truck or car. `location` is the stock that it carries, where the practice keeps locations."""

    name = models.CharField(max_length=200)
    placed_in_service = models.DateField(null=True, blank=True)
    location = models.OneToOneField(
        Location, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )

    def __str__(self):
        return self.name


class Reading(models.Model):
    """The odometer at the day's start or end, in the practice's distance unit, one decimal."""

    class At(models.TextChoices):
        START = "start", "Start of the day"
        END = "end", "End of the day"

    date = models.DateField()
    vehicle = models.ForeignKey(Vehicle, on_delete=models.PROTECT, related_name="readings")
    at = models.CharField(max_length=5, choices=At)
    reading = ExactField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["date", "vehicle", "at"], name="practice_reading_is_one_a_day"),
            not_negative("reading", "practice_reading_is_not_negative"),
        ]
        indexes = [models.Index(fields=["vehicle", "date"], name="practice_reading_by_vehicle")]

    def __str__(self):
        return f"{self.vehicle} {self.date} {self.at}: {self.reading}"


class LegQuerySet(models.QuerySet):
    def with_odometer(self):
        """Legs at whose start or end the odometer was read."""
        return self.filter(Q(start_odometer__isnull=False) | Q(end_odometer__isnull=False))


class Leg(Identified):
    """One drive, its purpose, and the visit that it reached. In the practice's unit, one decimal."""

    class Purpose(models.TextChoices):
        BUSINESS = "business", "Business"
        COMMUTING = "commuting", "Commuting"
        PERSONAL = "personal", "Personal"

    date = models.DateField()
    vehicle = models.ForeignKey(Vehicle, on_delete=models.PROTECT, related_name="legs")
    start_odometer = ExactField(null=True, blank=True)
    end_odometer = ExactField(null=True, blank=True)
    distance = ExactField()
    purpose = models.CharField(max_length=10, choices=Purpose)
    origin = models.CharField(max_length=200, blank=True, default="")
    destination = models.CharField(max_length=200, blank=True, default="")
    reason = models.CharField(max_length=300, blank=True, default="")
    visit = models.ForeignKey(Visit, null=True, blank=True, on_delete=models.PROTECT, related_name="legs")

    objects = LegQuerySet.as_manager()

    class Meta:
        constraints = [
            not_negative("distance", "practice_leg_distance_is_not_negative"),
            models.CheckConstraint(
                condition=Q(start_odometer__isnull=True)
                | Q(end_odometer__isnull=True)
                | Q(end_odometer=F("start_odometer") + F("distance")),
                name="practice_leg_distance_is_what_its_readings_say",
            ),
        ]
        indexes = [
            models.Index(fields=["vehicle", "date"], name="practice_leg_by_vehicle_day"),
            models.Index(
                fields=["vehicle", "date"],
                condition=Q(start_odometer__isnull=False) | Q(end_odometer__isnull=False),
                name="practice_leg_with_odometer",
            ),
        ]

    def __str__(self):
        return f"{self.origin} to {self.destination}, {self.date}"
