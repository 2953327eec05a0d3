"""Forms of the road: readings, drives, gaps, new odometers and vehicles, periods."""

from collections.abc import Iterator
from datetime import date
from decimal import Decimal

from django import forms

from practice.lib import formats
from practice.lib.forms import BookForm, DayField, NumberField, Odd, PastDayField
from practice.models import Leg, Vehicle, Visit
from practice.reports.odometers import last_odometer
from practice.rules.commuting import not_principal
from practice.rules.odd import is_far_on


def reading_field(label: str, **more) -> NumberField:
    return NumberField(label=label, places=1, low=Decimal(0), **{"example": "84198.0"} | more)


class RoadForm(BookForm):
    """What is written down of a vehicle and a day that is not still ahead."""

    def __init__(self, *args, vehicle: Vehicle, on: date, **kwargs):
        super().__init__(*args, **kwargs)
        self.vehicle, self.on = vehicle, on

    def clean(self):
        if self.on > self.profile.today:
            self.add_error(None, "This day is still ahead. Enter it once it was driven.")
        return super().clean()

    def ask_if_far(self, field: str, last: Decimal | None) -> Iterator[Odd]:
        """Yield the question about an odometer that is far on since it was last read."""
        reading, unit = self.cleaned_data[field], self.profile.unit
        if is_far_on(reading, last, unit.far):
            on = formats.distance(reading - last, unit.name, self.profile.locale)
            before = formats.tenths(last, self.profile.locale)
            question = f"That is {on} since the last reading, {before}. Is it right?"
            yield Odd("odometer_far_on", field, question)


class ReadingForm(RoadForm):
    """The odometer of a day's morning and evening."""

    start = reading_field("Morning", required=False)
    end = reading_field("Evening", required=False, example="84291.4")

    def odd(self):
        last, start = last_odometer(self.vehicle, self.on), self.cleaned_data["start"]
        yield from self.ask_if_far("start", last)
        yield from self.ask_if_far("end", last if start is None else start)

    def refuse(self, reason: str) -> None:
        self.add_error("start" if self.changed_data == ["start"] else "end", reason)


class LegForm(RoadForm):
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
    take = forms.CharField(required=False, widget=forms.HiddenInput)

    def __init__(self, *args, vehicle, on, profile, row=None, **kwargs):
        super().__init__(*args, vehicle=vehicle, on=on, profile=profile, row=row, **kwargs)
        if row and None not in (row.start_odometer, row.end_odometer):
            self.initial["distance"] = None
        stops = Visit.objects.filter(date=on).exclude(status=Visit.Status.CANCELLED)
        self.fields["visit"].queryset = stops.select_related("place").in_driving_order()
        self.fields["visit"].label_from_instance = lambda visit: visit.place.name
        if not profile.home_is_principal_place_of_business:
            self.fields["purpose"].help_text = not_principal(profile.home_country)

    def odd(self):
        data, last = self.cleaned_data, last_odometer(self.vehicle, self.on)
        start, far, unit = data["start_odometer"], self.profile.unit.far, self.profile.unit
        yield from self.ask_if_far("start_odometer", last)
        yield from self.ask_if_far("end_odometer", last if start is None else start)
        if is_far_on(data["distance"], Decimal(0), far):
            distance = formats.distance(data["distance"], unit.name, self.profile.locale)
            yield Odd("drive_far", "distance", f"That is a drive of {distance}. Is it right?")

    def leg_values(self) -> dict:
        """Return what was entered, as `log_leg` and `change_leg` take it."""
        return {name: value for name, value in self.cleaned_data.items() if name != "take"}


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
            self.fields["purpose"].help_text = not_principal(profile.home_country)


class OdometerForm(BookForm):
    date = PastDayField(label="Date")
    last = reading_field("Last reading of the old odometer")
    first = reading_field("First reading of the new odometer", example="0.0")


class ReplaceForm(BookForm):
    date = PastDayField(label="Date")
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
