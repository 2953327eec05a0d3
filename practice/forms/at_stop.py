"""Forms of what comes up at a stop: a horse that is not in the book yet, and the next call."""

from collections.abc import Iterable
from datetime import date

from django import forms

from practice.lib.form_fields import RowsField
from practice.lib.forms import NAMES_ROW, BookForm, Odd, PlannedDayField
from practice.lib.names import is_same_name
from practice.models import Client, Horse, Owner, Visit
from practice.reports.due import due_date
from practice.reports.horses_at_stop import horses_at


class NewHorseForm(BookForm):
    """A horse that stands at a stop, with the client whose it is: one with a horse there, or another."""

    ranges = {"cycle_weeks": (1, 52)}
    name = forms.CharField(label="Horse", max_length=200, widget=forms.TextInput(attrs=NAMES_ROW))
    owner = forms.ModelChoiceField(
        Client.objects.none(), required=False, label="Owner", empty_label="Someone else"
    )
    new_owner = forms.CharField(
        required=False,
        label="Name of another owner",
        max_length=200,
        help_text="A client in the book by that name is the owner. Someone new is added to the clients.",
    )
    phone = forms.CharField(required=False, label="Phone of a new owner", max_length=50)
    cycle_weeks = forms.IntegerField(label="Weeks between visits", initial=6)

    def __init__(self, *args, visit: Visit, **kwargs):
        super().__init__(*args, **kwargs)
        self.visit = visit
        there = Owner.objects.on(visit.date).filter(horse__place=visit.place_id, horse__status="active")
        owners = Client.objects.current().filter(pk__in=there.values("client"))
        self.fields["owner"].queryset = owners.order_by("name", "pk")
        if not owners:
            del self.fields["owner"]
            self.fields["new_owner"].label = "Owner's name"
        self.fields["name"].error_messages["required"] = "Type the horse's name."

    def clean(self):
        data = super().clean() or self.cleaned_data
        if not data.get("owner") and not data.get("new_owner") and "owner" not in self.errors:
            can_choose = "owner" in self.fields
            self.add_error(
                "new_owner", "Choose the owner, or type who it is." if can_choose else "Type who owns it."
            )
        elif data.get("owner") and data.get("new_owner"):
            self.add_error("new_owner", "Choose the owner, or type a new one, not both.")
        return data

    def odd(self) -> Iterable[Odd]:
        name = self.cleaned_data["name"]
        for other in Horse.objects.active().filter(place=self.visit.place_id).order_by("pk"):
            if is_same_name(name, other.name):
                question = f"{other.name} at {self.visit.place} is in the book already. Is this a second one?"
                yield Odd("same_name", "name", question)
                return


class NextCallForm(BookForm):
    """The day of the next call, as agreed at a stop for horses that were done there, or that are due."""

    day = PlannedDayField(label="Next visit")
    horses = RowsField(
        Horse.objects.none(),
        label="Horses",
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Select the horses that it is for."},
    )

    def __init__(self, *args, visit: Visit, **kwargs):
        super().__init__(*args, **kwargs)
        self.visit = visit
        at_stop = [row for row in horses_at(visit) if row.done or row.is_due]
        known = [row.horse for row in at_stop if row.done] or [row.horse for row in at_stop]
        keys = [row.horse.pk for row in at_stop]
        self.fields["horses"].queryset = Horse.objects.active().filter(pk__in=keys).order_by("name", "pk")
        self.initial["horses"] = [horse.pk for horse in known]
        days = [due_date(visit.date, horse.cycle_weeks, horse.next_call) for horse in known]
        self.initial["day"] = min(days, default=None)

    def clean_day(self) -> date:
        if self.cleaned_data["day"] <= self.visit.date:
            raise forms.ValidationError("Enter a day after this visit.", code="not_after")
        return self.cleaned_data["day"]
