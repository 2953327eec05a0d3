"""Forms of the road: readings, drives, gaps, new odometers and vehicles, periods."""

from decimal import Decimal

from django import forms

from practice.lib.forms import BookForm, DayField, NumberField
from practice.models import Leg, Visit

NOT_PRINCIPAL = (
    "Your home is not your principal place of business, so a drive from or to it counts as commuting unless"
    " you give a reason why not (Rev. Rul. 99-7). A licensed tax preparer decides."
)


def reading_field(label: str, **more) -> NumberField:
    return NumberField(label=label, places=1, low=Decimal(0), **{"example": "84198.0"} | more)


class ReadingForm(BookForm):
    start = reading_field("Morning", required=False)
    end = reading_field("Evening", required=False, example="84291.4")


class LegForm(BookForm):
    """One drive, by its distance or by both readings."""

    origin = forms.CharField(required=False, label="From", max_length=200)
    destination = forms.CharField(required=False, label="To", max_length=200)
    distance = NumberField(required=False, label="Distance", places=1, low=Decimal(0), example="12.4")
    start_odometer = reading_field("Odometer at start", required=False)
    end_odometer = reading_field("Odometer at end", required=False)
    purpose = forms.ChoiceField(choices=Leg.Purpose, label="Purpose")
    visit = forms.ModelChoiceField(Visit.objects.none(), required=False, label="Stop it led to")
    reason = forms.CharField(
        required=False,
        label="Reason",
        max_length=300,
        help_text="Needed for a business drive to no stop.",
    )
    uuid = forms.UUIDField(required=False, widget=forms.HiddenInput)
    take = forms.CharField(required=False, widget=forms.HiddenInput)

    def __init__(self, *args, on, profile, **kwargs):
        super().__init__(*args, profile=profile, **kwargs)
        stops = Visit.objects.filter(date=on).exclude(status=Visit.Status.CANCELLED)
        self.fields["visit"].queryset = stops.select_related("place").in_driving_order()
        self.fields["visit"].label_from_instance = lambda visit: visit.place.name
        if not profile.home_is_principal_place_of_business:
            self.fields["purpose"].help_text = NOT_PRINCIPAL

    def leg_values(self) -> dict:
        """Return what was entered, as `log_leg` and `change_leg` take it."""
        return {name: value for name, value in self.cleaned_data.items() if name not in ("uuid", "take")}


class GapForm(BookForm):
    """What a jump of the odometer was, all of it or a part."""

    distance = NumberField(label="Distance", places=1, above=Decimal(0), example="12.4")
    purpose = forms.ChoiceField(choices=[("", "Choose one"), *Leg.Purpose.choices], label="Purpose")
    reason = forms.CharField(required=False, label="Reason", max_length=300, help_text="Needed for business.")
    origin = forms.CharField(required=False, label="From", max_length=200)
    destination = forms.CharField(required=False, label="To", max_length=200)

    def __init__(self, *args, profile, **kwargs):
        super().__init__(*args, profile=profile, **kwargs)
        if not profile.home_is_principal_place_of_business:
            self.fields["purpose"].help_text = NOT_PRINCIPAL


class OdometerForm(BookForm):
    date = DayField(label="Date")
    last = reading_field("Last reading of the old odometer")
    first = reading_field("First reading of the new odometer", example="0.0")


class ReplaceForm(BookForm):
    date = DayField(label="Date")
    last = reading_field("Last reading of the old vehicle")
    name = forms.CharField(label="Name of the new vehicle", max_length=200)
    first = reading_field("First reading of the new vehicle", example="31.5")


class PeriodForm(BookForm):
    begin = DayField(label="From")
    end = DayField(label="To")

    def clean(self):
        data = super().clean()
        if data.get("begin") and data.get("end") and data["end"] < data["begin"]:
            self.add_error("end", "Enter a day that is not before the first one.")
        return data
