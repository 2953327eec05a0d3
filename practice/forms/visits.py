"""Forms of visits and findings."""

from django import forms

from practice.lib.forms import BookForm, DayField
from practice.models import Finding, Foot, Place, Vehicle, Zone


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
