from django.db import models

from practice.lib.choices import ValuationMethod


class ValuationChange(models.Model):
    """From a day on the shelf is costed by another method; before the first one by the practice's.

    What was costed before that day stays as it is.
    """

    valid_from = models.DateField(unique=True)
    method = models.CharField(max_length=20, choices=ValuationMethod.choices())

    def __str__(self):
        return f"{self.get_method_display()} from {self.valid_from}"
