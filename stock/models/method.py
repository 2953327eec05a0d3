from django.db import models

from practice.lib.choices import ValuationMethod


class ValuationChangeQuerySet(models.QuerySet):
    def for_list(self):
        """Changes, the latest first."""
        return self.order_by("-valid_from")


class ValuationChange(models.Model):
    """The method by which stock is costed from a day on; before the first one it is the practice's.

    What was costed before that day stays as it is.
    """

    valid_from = models.DateField(unique=True)
    method = models.CharField(max_length=20, choices=ValuationMethod.choices())

    objects = ValuationChangeQuerySet.as_manager()

    def __str__(self):
        return f"{self.get_method_display()} from {self.valid_from}"
