from datetime import date

from django.db import models
from django.db.models import F, Q
from django.urls import reverse

from practice.lib.fields import ExactField
from practice.lib.rows import Identified, Referenced, ReferencedQuerySet
from practice.models.horse import Horse
from practice.models.visit import Visit
from practice.models.work import Foot, Service
from stock.models import Item


class Clips(models.TextChoices):
    NONE = "none", "No clips"
    TOE = "toe", "Toe clip"
    SIDE = "side", "Side clips"
    TOE_AND_SIDE = "toe and side", "Toe and side clips"


class PrescriptionQuerySet(ReferencedQuerySet):
    def on(self, day: date):
        """Those in force on a day (first and last day included), the one that counts last of a foot last."""
        return self.filter(Q(valid_to__isnull=True) | Q(valid_to__gte=day), valid_from__lte=day).order_by(
            "valid_from", "pk"
        )


class Prescription(Referenced):
    """How a foot is to be shod until further notice: a veterinarian's word (`by`), or the farrier's own.

    `shoe` is for one that is no `item`; `angle` is what is aimed at, in degrees. It is ended, never deleted.
    """

    horse = models.ForeignKey(Horse, on_delete=models.PROTECT, related_name="prescriptions")
    foot = models.CharField(max_length=2, choices=Foot)
    item = models.ForeignKey(Item, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    shoe = models.CharField(max_length=200, blank=True, default="")
    clips = models.CharField(max_length=20, choices=Clips, blank=True, default="")
    pad = models.CharField(max_length=200, blank=True, default="")
    packing = models.CharField(max_length=200, blank=True, default="")
    angle = ExactField(null=True, blank=True)
    note = models.TextField(blank=True, default="")
    by = models.CharField(max_length=200, blank=True, default="")
    valid_from = models.DateField()
    valid_to = models.DateField(null=True, blank=True)

    objects = PrescriptionQuerySet.as_manager()

    class Meta(Referenced.Meta):
        constraints = [
            *Referenced.Meta.constraints,
            models.CheckConstraint(
                condition=Q(valid_to__isnull=True) | Q(valid_to__gte=F("valid_from")),
                name="practice_prescription_ends_after_it_begins",
                violation_error_message="The end is before the first day.",
            ),
        ]

    def __str__(self):
        return f"{self.get_foot_display()}, {self.horse}, from {self.valid_from}"

    def get_absolute_url(self):
        return reverse("practice:prescription-change", args=[self.pk])


class FootRecord(Identified):
    """How one foot was shod at a visit, as far as the materials used there do not say it.

    `shoe` is for one that is no item, `fit` says how it sits. What was not measured has no `angle` (degrees)
    and no `toe_length` (in `toe_unit`).
    """

    class Unit(models.TextChoices):
        INCH = "in", "in"
        MILLIMETER = "mm", "mm"

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="feet")
    horse = models.ForeignKey(Horse, on_delete=models.PROTECT, related_name="feet")
    foot = models.CharField(max_length=2, choices=Foot)
    shoe = models.CharField(max_length=200, blank=True, default="")
    fitted = models.CharField(max_length=4, choices=Service.Fitted, blank=True, default="")
    fit = models.CharField(max_length=200, blank=True, default="")
    nails_outside = models.PositiveSmallIntegerField(null=True, blank=True)
    nails_inside = models.PositiveSmallIntegerField(null=True, blank=True)
    clips = models.CharField(max_length=20, choices=Clips, blank=True, default="")
    pad = models.CharField(max_length=200, blank=True, default="")
    packing = models.CharField(max_length=200, blank=True, default="")
    angle = ExactField(null=True, blank=True)
    toe_length = ExactField(null=True, blank=True)
    toe_unit = models.CharField(max_length=2, choices=Unit, blank=True, default="")
    note = models.TextField(blank=True, default="")

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["visit", "horse", "foot"], name="practice_footrecord_is_one_a_foot"
            ),
            models.CheckConstraint(
                condition=Q(toe_length__isnull=True) | ~Q(toe_unit=""),
                name="practice_footrecord_toe_length_has_a_unit",
            ),
        ]

    def __str__(self):
        return f"{self.get_foot_display()}, {self.horse}, {self.visit}"
