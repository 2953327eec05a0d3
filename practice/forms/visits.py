"""Forms of visits."""

from datetime import timedelta

from django import forms

from practice.lib.forms import NAMES_ROW, BookForm, PlannedDayField
from practice.models import Place, Vehicle, Visit


def time_field(label: str, required: bool = False) -> forms.TimeField:
    return forms.TimeField(
        required=required,
        label=label,
        widget=forms.TimeInput(format="%H:%M", attrs={"type": "time"}),
        error_messages={"invalid": "Type a time such as 09:30."},
    )


class VisitForm(BookForm):
    """What planning and moving a visit have in common: the vehicle, of those in use."""

    vehicle = forms.ModelChoiceField(
        Vehicle.objects.current().order_by("pk"), required=False, label="Vehicle", empty_label="No vehicle"
    )


class PlanForm(VisitForm):
    date = PlannedDayField(label="Day", required=False)
    place = forms.ModelChoiceField(
        Place.objects.current().order_by("name"),
        required=False,
        label="Place",
        empty_label="Choose a place",
        widget=forms.Select(attrs=NAMES_ROW),
    )
    new_place = forms.CharField(
        required=False,
        label="Or a new place",
        max_length=200,
        help_text="One that is not in the book yet.",
        widget=forms.TextInput(attrs=NAMES_ROW),
    )
    arrive = time_field("Arrival time")
    note = forms.CharField(required=False, label="Note", widget=forms.Textarea)
    field_order = ("date", "place", "new_place", "vehicle", "arrive", "note")

    def clean(self):
        data = super().clean() or self.cleaned_data
        if not data.get("place") and not data.get("new_place") and "place" not in self.errors:
            self.add_error("place", "Choose a place.")
        elif data.get("place") and data.get("new_place"):
            self.add_error("new_place", "Choose a place, or type a new one, not both.")
        return data

    def clean_date(self) -> date:
        """Return the day; blank is the one proposed, which may be as far ahead and no further."""
        return self.fields["date"].clean(self.cleaned_data["date"] or self.initial["date"])


class HorsePlanForm(VisitForm):
    """The day on which a horse is to be done."""

    date = PlannedDayField(label="Day")
    field_order = ("date", "vehicle")

    def clean_date(self) -> date:
        day = self.cleaned_data["date"]
        if day < self.profile.today:
            raise forms.ValidationError("This day is over. Choose today or a later day.", code="over")
        return day


class MoveForm(VisitForm):
    date = PlannedDayField(label="New day")
    field_order = ("date", "vehicle")

    def __init__(self, *args, row: Visit, **kwargs):
        super().__init__(*args, row=row, **kwargs)
        self.initial["date"] = row.date + timedelta(1)

    def state(self):
        """Return the day that the visit is on now, not the one proposed."""
        return super().state() | {"date": self.row.date.isoformat()}
