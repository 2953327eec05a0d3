from django.db import models
from django.db.models import F, Q

from practice.models.horse import Horse
from practice.models.visit import Visit
from practice.rules.working_time import minutes_between


class HorseTime(models.Model):
    """From when to when we worked on a horse at a visit: as its form was opened and saved, or corrected."""

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="times")
    horse = models.ForeignKey(Horse, on_delete=models.PROTECT, related_name="times")
    began = models.TimeField()
    finished = models.TimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["visit", "horse"], name="practice_horsetime_is_one_a_visit"),
            models.CheckConstraint(
                condition=Q(finished__gt=F("began")), name="practice_horsetime_ends_after_it_begins"
            ),
        ]

    def __str__(self):
        return f"{self.horse}, {self.began:%H:%M} to {self.finished:%H:%M}"

    @property
    def minutes(self) -> int:
        return minutes_between(self.began, self.finished)
