from django.db import models
from django.db.models import Q

from practice.lib.fields import ExactField
from practice.lib.rows import not_negative
from stock.models.item import Item
from stock.models.supplier import Location


class Found(models.Model):
    """What was counted of an item at a location and is not posted yet: a line of the location's count sheet.

    Location none: the one shelf, or the first location. `date` is the day at whose end it was counted.
    """

    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="+")
    location = models.ForeignKey(Location, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    date = models.DateField()
    quantity = ExactField()
    unit_cost = ExactField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["item", "location"], name="stock_found_once_at_a_location"),
            models.UniqueConstraint(
                fields=["item"], condition=Q(location__isnull=True), name="stock_found_once_on_the_shelf"
            ),
            not_negative("quantity", "stock_found_quantity_is_not_negative"),
            not_negative("unit_cost", "stock_found_unit_cost_is_not_negative"),
        ]

    def __str__(self):
        return f"{self.quantity} {self.item}"
