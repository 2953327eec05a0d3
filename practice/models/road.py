from django.db import models
from django.db.models import F, Q
from django.urls import reverse

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

    def get_absolute_url(self):
        return reverse("practice:vehicle-change", args=[self.pk])


class Reading(models.Model):
    """The odometer at the day's start or end, in the practice's distance unit, one decimal."""

    class At(models.TextChoices):
        START = "start", "Start of the day"
        END = "end", "End of the day"

    date = models.DateField()
    vehicle = models.ForeignKey(Vehicle, on_delete=models.PROTECT, related_name="readings")
    at = models.CharField(max_length=5, choices=At)
    reading = ExactField()
    recorded_at = models.DateTimeField(null=True, blank=True)
    changed_at = models.DateTimeField(null=True, blank=True)

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


class OdometerChange(models.Model):
    """Another odometer in a vehicle: the last reading of the old one, and what the new one began with."""

    date = models.DateField()
    vehicle = models.ForeignKey(Vehicle, on_delete=models.PROTECT, related_name="odometer_changes")
    last = ExactField()
    first = ExactField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["date", "vehicle"], name="practice_odometerchange_is_one_a_day"),
            not_negative("last", "practice_odometerchange_last_is_not_negative"),
            not_negative("first", "practice_odometerchange_first_is_not_negative"),
        ]

    def __str__(self):
        return f"{self.vehicle} {self.date}: {self.last} to {self.first}"


class Purpose(models.TextChoices):
    BUSINESS = "business", "Business"
    COMMUTING = "commuting", "Commuting"
    PERSONAL = "personal", "Personal"


class Drive(models.Model):
    """What is written down of a drive. Distances are in the practice's unit, with one decimal.

    `proposed`: the distance is an estimate; this is what was taken, and what each fit to the day's
    readings begins with. Blank: the distance was typed, or is what its readings say.
    """

    Purpose = Purpose

    date = models.DateField()
    vehicle = models.ForeignKey(Vehicle, on_delete=models.PROTECT, related_name="%(class)ss")
    start_odometer = ExactField(null=True, blank=True)
    end_odometer = ExactField(null=True, blank=True)
    distance = ExactField()
    purpose = models.CharField(max_length=10, choices=Purpose)
    origin = models.CharField(max_length=200, blank=True, default="")
    destination = models.CharField(max_length=200, blank=True, default="")
    reason = models.CharField(max_length=300, blank=True, default="")
    visit = models.ForeignKey(
        Visit, null=True, blank=True, on_delete=models.PROTECT, related_name="%(class)ss"
    )
    proposed = ExactField(null=True, blank=True)

    class Meta:
        abstract = True

    def __str__(self):
        return f"{self.origin} to {self.destination}, {self.date}"

    @property
    def ends(self) -> str:
        """From where to where, `?` where that was not written down: `Home to Cedar Hollow`."""
        return f"{self.origin or '?'} to {self.destination or '?'}"

    @property
    def about(self) -> str:
        """Purpose, whether estimated, stop and reason: `business, estimated, Cedar Hollow`."""
        words = [self.get_purpose_display().lower(), "estimated" if self.estimated else ""]
        return ", ".join(filter(None, [*words, self.visit.place.name if self.visit else "", self.reason]))

    @property
    def estimated(self) -> bool:
        """Whether the distance is a taken proposal, fitted to the day's readings where there are two."""
        return self.proposed is not None


# The fields of a drive; its history keeps each of them.
DRIVE_FIELDS = tuple(field.name for field in Drive._meta.fields)


class Leg(Identified, Drive):
    """One drive, its purpose, and the visit that it reached.

    `recorded_at`, `changed_at`: when it was written down, and last changed by hand; blank = not known.
    """

    recorded_at = models.DateTimeField(null=True, blank=True)
    changed_at = models.DateTimeField(null=True, blank=True)

    objects = LegQuerySet.as_manager()

    class Meta:
        constraints = [
            not_negative("distance", "practice_leg_distance_is_not_negative"),
            not_negative("proposed", "practice_leg_proposed_is_not_negative"),
            models.CheckConstraint(
                condition=Q(proposed__isnull=True)
                | Q(start_odometer__isnull=True)
                | Q(end_odometer__isnull=True),
                name="practice_leg_with_two_readings_is_not_estimated",
            ),
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

    def get_absolute_url(self) -> str:
        return reverse("practice:leg-change", args=[self.pk])


class LegChange(Drive):
    """What a leg said before it was changed or taken out. Only ever added; the leg is named by its UUID."""

    class What(models.TextChoices):
        CHANGED = "changed", "Changed"
        REMOVED = "removed", "Deleted"

    leg = models.UUIDField(db_index=True)
    what = models.CharField(max_length=7, choices=What)
    at = models.DateTimeField()
    recorded_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        indexes = [models.Index(fields=["vehicle", "date"], name="practice_legchange_by_day")]
