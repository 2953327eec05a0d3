"""Forms of items, suppliers and locations."""

from decimal import Decimal

from practice.lib.forms import BookModelForm
from stock.models import Item, Location, Supplier


class ItemForm(BookModelForm):
    class Meta:
        model = Item
        fields = [
            "name",
            "kind",
            "pattern",
            "size",
            "fits",
            "side",
            "material",
            "clips",
            "unit",
            "pack_size",
            "sale_price",
            "taxable",
            "supplier",
            "lead_time_days",
            "service_level",
            "shelf_order",
        ]
        labels = {
            "material": "Made of",
            "unit": "Counted in",
            "pack_size": "In a pack",
            "sale_price": "Sale price",
            "taxable": "Taxed",
            "lead_time_days": "Days until it comes",
            "service_level": "Chance that it is there",
            "shelf_order": "Place on the shelf",
        }
        help_texts = {
            "material": "Such as steel or aluminium.",
            "clips": "Such as toe clip or side clips; blank: none.",
            "unit": "Such as each, ml, g.",
            "sale_price": "Blank: covered by the price of the work.",
            "taxable": "What is taxed differs from place to place: ask a licensed tax preparer.",
            "service_level": "Between 0 and 1, such as 0.95.",
            "shelf_order": "A number; blank: by kind, pattern and size. Count sheets follow it.",
        }

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["pack_size"].above = Decimal(0)
        self.fields["sale_price"].low = Decimal(0)
        self.fields["service_level"].low = Decimal(0)
        self.fields["service_level"].high = Decimal("0.999999")
        if self.instance.pk and (self.instance.movements.exists() or self.instance.order_lines.exists()):
            self.fields["unit"].disabled = True


class SupplierForm(BookModelForm):
    class Meta:
        model = Supplier
        fields = ["name", "phone", "email", "lead_time_days"]
        labels = {"lead_time_days": "Days until a delivery comes"}


class LocationForm(BookModelForm):
    class Meta:
        model = Location
        fields = ["name"]
