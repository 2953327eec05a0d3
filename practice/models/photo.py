from django.db import models
from django.urls import reverse

from practice.lib.rows import Referenced
from practice.models.finding import Finding
from practice.models.horse import Horse
from practice.models.visit import Visit


class Photo(Referenced):
    """A picture of a horse: of a hoof, an x-ray that was handed over, or anything else.

    `file` is the name of a file in the data folder's `photos`; blank: it is gone. It is no entry of the
    accounts, so days that are closed for good take one too, and let one go.
    """

    class What(models.TextChoices):
        HOOF = "hoof", "Hoof"
        XRAY = "x-ray", "X-ray"
        OTHER = "other", "Other"

    horse = models.ForeignKey(Horse, on_delete=models.PROTECT, related_name="photos")
    visit = models.ForeignKey(Visit, null=True, blank=True, on_delete=models.PROTECT, related_name="photos")
    finding = models.ForeignKey(
        Finding, null=True, blank=True, on_delete=models.PROTECT, related_name="photos"
    )
    what = models.CharField(max_length=10, choices=What, default=What.HOOF)
    note = models.TextField(blank=True, default="")
    taken_on = models.DateField()
    file = models.CharField(max_length=80, blank=True, default="")

    def __str__(self):
        return f"{self.get_what_display()}, {self.horse}, {self.taken_on}"

    def get_absolute_url(self):
        return reverse("practice:photo-change", args=[self.pk])
