from django.db import models


class CheckedWarning(models.Model):
    """A warning of a day's close that the practice said is right; `text` is what the warning said.

    One that says something else, because the day changed, is shown again.
    """

    date = models.DateField()
    text = models.TextField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["date", "text"], name="billing_checkedwarning_is_marked_once")
        ]

    def __str__(self):
        return f"{self.date}: {self.text}"
