from datetime import date

from django.db import models
from django.utils.text import capfirst

from practice.lib.rows import Identified
from practice.models.horse import Horse
from practice.models.visit import Visit
from practice.models.work import Foot


class Zone(models.TextChoices):
    TOE = "toe", "Toe"
    INSIDE_QUARTER = "inside quarter", "Inside quarter"
    OUTSIDE_QUARTER = "outside quarter", "Outside quarter"
    INSIDE_HEEL = "inside heel", "Inside heel"
    OUTSIDE_HEEL = "outside heel", "Outside heel"
    HEEL_BULB = "heel bulb", "Heel bulb"
    FROG = "frog", "Frog"
    BARS = "bars", "Bars"
    SEAT_OF_CORN = "seat of corn", "Seat of corn"
    SOLE = "sole", "Sole"
    WHITE_LINE = "white line", "White line"
    WALL = "wall", "Wall"
    CORONET = "coronet", "Coronet"
    WHOLE_FOOT = "whole foot", "Whole foot"


class FindingQuerySet(models.QuerySet):
    def unresolved(self, on: date):
        """Findings that were not marked as seen to before a day."""
        return self.filter(models.Q(resolved_on__isnull=True) | models.Q(resolved_on__gte=on))


class Finding(Identified):
    """A sign that a foot showed, recorded as seen and never as a diagnosis.

    `marked` is how plain it was, in words. `told_who` was told of it, at `told_at`, where that is known.
    `resolved_on`: the day it was marked as seen to; none: it is shown at the horse's next visits.
    """

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="findings")
    horse = models.ForeignKey(Horse, on_delete=models.PROTECT, related_name="findings")
    foot = models.CharField(max_length=3, choices=[*Foot.choices, ("all", "All feet")])
    zone = models.CharField(max_length=20, choices=Zone)
    kind = models.CharField(max_length=200)
    note = models.TextField(blank=True, default="")
    refer_to_vet = models.BooleanField(default=False)
    resolved_on = models.DateField(null=True, blank=True)
    marked = models.CharField(max_length=60, blank=True, default="")
    told_who = models.CharField(max_length=200, blank=True, default="")
    told_at = models.DateTimeField(null=True, blank=True)

    objects = FindingQuerySet.as_manager()

    def __str__(self):
        return f"{self.kind}, {self.foot} {self.zone}, {self.horse}"

    @property
    def sign(self) -> str:
        """What was seen, and how marked it was: `Red sole, slight`."""
        return capfirst(", ".join(filter(None, [self.kind.strip().rstrip("."), self.marked])))

    @property
    def words(self) -> str:
        """What was seen and where, as a sentence: `Red sole, slight: left fore, sole.`"""
        return f"{self.sign}: {self.get_foot_display().lower()}, {self.zone}."

    @property
    def detail(self) -> str:
        """How marked, where, and whether it is for the veterinarian: `Slight, left fore, sole.`"""
        words = filter(None, [self.marked, self.get_foot_display().lower(), self.zone])
        where = capfirst(", ".join(words))
        return f"{where}. Call the veterinarian." if self.refer_to_vet else where
