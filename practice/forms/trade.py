"""Forms of services and vehicles."""

from practice.lib.forms import BookModelForm, NamedForm, PastDayField
from practice.models import Service, Vehicle
from stock.models import Location


class ServiceForm(NamedForm):
    ranges = {"minutes": (0, 600)}

    class Meta:
        model = Service
        fields = ["name", "minutes", "new_shoes", "feet_nailed", "fitted", "resets_cycle", "taxable"]
        labels = {
            "minutes": "Usual minutes",
            "new_shoes": "New shoes",
            "feet_nailed": "Feet nailed",
            "resets_cycle": "Starts a new cycle",
            "taxable": "Taxed",
        }
        help_texts = {
            "resets_cycle": "Leave unchecked for a lost shoe or a follow-up.",
            "taxable": "What is taxed differs from place to place. A licensed tax preparer decides.",
        }

    def clean(self):
        data = super().clean()
        for name in ("new_shoes", "feet_nailed"):
            if (data.get(name) or 0) > 4:
                self.add_error(name, "A horse has four feet. Type a number from 0 to 4.")
        return data


class VehicleForm(BookModelForm):
    class Meta:
        model = Vehicle
        fields = ["name", "placed_in_service", "location"]
        labels = {"placed_in_service": "In service since", "location": "Carries the stock of"}
        help_texts = {"location": "What you use on a visit with this vehicle is taken from there."}
        field_classes = {"placed_in_service": PastDayField}
        error_messages = {
            "location": {"unique": "Another vehicle already carries that stock. Choose another one."}
        }

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        places = Location.objects.order_by("pk")
        self.fields["location"].queryset, self.fields["location"].empty_label = places, "None"
        if not places.exists():
            del self.fields["location"]
