"""The form of a mileage rate."""

from decimal import Decimal

from django import forms

from billing.models import MileageRate
from practice.lib.countries import rated_schemes
from practice.lib.form_fields import PriceField
from practice.lib.forms import BookModelForm, PlannedDayField
from practice.lib.units import DISTANCE_UNITS

KEY = ("scheme", "valid_from", "tier_from")


class MileageRateForm(BookModelForm):
    scheme = forms.ChoiceField()

    class Meta:
        model = MileageRate
        fields = ["scheme", "valid_from", "valid_to", "tier_from", "rate", "source"]
        field_classes = {"rate": PriceField, "valid_from": PlannedDayField}
        labels = {
            "valid_from": "First day",
            "valid_to": "Last day",
            "tier_from": "Applies above this distance in the tax year",
            "rate": "Rate per mile or kilometer",
            "source": "Source",
        }
        help_texts = {
            "valid_to": "Leave blank until there is a next rate. Totals after this day are provisional.",
            "tier_from": "Type 0 if it applies from the first mile or kilometer.",
            "rate": "In dollars or pounds, not cents or pence, such as 0.725.",
            "source": "Such as the number of the tax authority's notice.",
        }

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        for name, example in (("rate", "0.725"), ("tier_from", "10000")):
            self.fields[name].low, self.fields[name].example = Decimal(0), example
        self.fields["rate"].high = Decimal(100)
        self.fields["scheme"].choices = [
            (
                f"Per {unit.one}",
                [(name, row.label) for name, row in rated_schemes().items() if row.unit == unit.name],
            )
            for unit in DISTANCE_UNITS.values()
        ]
        if self.instance.pk:
            for name in KEY:
                self.fields[name].disabled = True

    def clean(self):
        data = super().clean()
        begin, end = data.get("valid_from"), data.get("valid_to")
        if begin and end and end < begin:
            self.add_error("valid_to", "This day is before the first one.")
        return data
