"""Forms of visits, odometer readings, legs and findings."""

from decimal import Decimal

from django import forms

from practice.lib.forms import BookForm, DayField, NumberField
from practice.models import Finding, Foot, Leg, Place, Vehicle, Visit, Zone


def vehicles():
    return Vehicle.objects.filter(archived=False).order_by("pk")


class PlanForm(BookForm):
    place = forms.ModelChoiceField(Place.objects.filter(archived=False).order_by("name"), label="Place")
    vehicle = forms.ModelChoiceField(Vehicle.objects.none(), required=False, label="Vehicle")
    arrive = forms.TimeField(
        required=False,
        label="About when",
        widget=forms.TimeInput(format="%H:%M", attrs={"type": "time"}),
        error_messages={"invalid": "Type a time such as 09:30."},
    )
    note = forms.CharField(required=False, label="Note", widget=forms.Textarea)
    uuid = forms.UUIDField(required=False, widget=forms.HiddenInput)

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["vehicle"].queryset = vehicles()


class MoveForm(BookForm):
    date = DayField(label="To which day")
    vehicle = forms.ModelChoiceField(Vehicle.objects.none(), required=False, label="Vehicle")

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["vehicle"].queryset = vehicles()


class ReadingForm(BookForm):
    start = NumberField(required=False, label="Morning", places=1, low=Decimal(0), example="84198.0")
    end = NumberField(required=False, label="Evening", places=1, low=Decimal(0), example="84291.4")


class LegForm(BookForm):
    """One drive, by its distance or by both readings."""

    origin = forms.CharField(required=False, label="From", max_length=200)
    destination = forms.CharField(required=False, label="To", max_length=200)
    distance = NumberField(required=False, label="Distance", places=1, low=Decimal(0), example="12.4")
    start_odometer = NumberField(required=False, label="Odometer at start", places=1, low=Decimal(0))
    end_odometer = NumberField(required=False, label="Odometer at end", places=1, low=Decimal(0))
    purpose = forms.ChoiceField(choices=Leg.Purpose, label="Purpose")
    visit = forms.ModelChoiceField(Visit.objects.none(), required=False, label="Reached the visit at")
    reason = forms.CharField(
        required=False, label="Reason", max_length=300, help_text="Needed where it reached no visit."
    )
    uuid = forms.UUIDField(required=False, widget=forms.HiddenInput)

    def __init__(self, *args, on, **kwargs):
        super().__init__(*args, **kwargs)
        stops = Visit.objects.filter(date=on).exclude(status=Visit.Status.CANCELLED)
        self.fields["visit"].queryset = stops.select_related("place").in_driving_order()
        self.fields["visit"].label_from_instance = lambda visit: visit.place.name
        for name in ("start_odometer", "end_odometer"):
            self.fields[name].example = "84198.0"


class FindingForm(forms.ModelForm):
    """A sign, as seen."""

    class Meta:
        model = Finding
        fields = ["foot", "zone", "kind", "note", "refer_to_vet"]
        labels = {
            "kind": "What was seen",
            "zone": "Where on the foot",
            "refer_to_vet": "For the veterinarian",
        }
        help_texts = {"kind": "A sign as seen, such as red sole, heat, pus draining; never a diagnosis."}
        widgets = {"note": forms.Textarea(attrs={"rows": 3})}

    def __init__(self, *args, profile=None, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["foot"].choices = [*Foot.choices, ("all", "All feet")]
        self.fields["zone"].choices = Zone.choices
        self.fields["kind"].error_messages["required"] = "Type what was seen, such as red sole."
