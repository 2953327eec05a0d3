"""The form of a shoeing record: four feet with the same fields."""

from collections.abc import Mapping
from copy import deepcopy
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django import forms
from django.forms.boundfield import BoundField

from practice.lib.forms import BookForm, BookModelForm, NumberField, PlannedDayField
from practice.models import Clips, Foot, Horse, Prescription, Service
from practice.rules.horse_work import FEET
from stock.models import Item, ItemKind

MOST_NAILS = 9
AS_THE_SHOE = ("", "As the shoe has them")
FITTED = [("", "Not said"), *Service.Fitted.choices]
PAIRS = (("nails_outside", "nails_inside"), ("clips", "fitted"), ("pad", "packing"), ("angle", "toe_length"))
# Bounds for slips of the finger, not for hooves.
ANGLE, LONGEST = (Decimal(20), Decimal(80)), {"in": Decimal(8), "mm": Decimal(200)}


def fields_of_a_foot(unit: str) -> dict[str, forms.Field]:
    """Return the fields of one foot, by the names of a FootRecord."""
    return {
        "nails_outside": forms.IntegerField(required=False, label="Nails outside"),
        "nails_inside": forms.IntegerField(required=False, label="Nails inside"),
        "clips": forms.ChoiceField(required=False, label="Clips", choices=[AS_THE_SHOE, *Clips.choices]),
        "fitted": forms.ChoiceField(required=False, label="Fitted", choices=FITTED),
        "fit": forms.CharField(
            required=False, max_length=200, label="Fit", help_text="Such as: full at the outside heel."
        ),
        "shoe": forms.CharField(
            required=False, max_length=200, label="Shoe", help_text="Only one that is not among your items."
        ),
        "pad": forms.CharField(required=False, max_length=200, label="Pad"),
        "packing": forms.CharField(required=False, max_length=200, label="Packing"),
        "angle": NumberField(
            required=False, label="Angle, degrees", places=1, low=ANGLE[0], high=ANGLE[1], example="52"
        ),
        "toe_length": NumberField(
            required=False,
            label=f"Toe length, {unit}",
            places=3,
            above=Decimal(0),
            high=LONGEST[unit],
            example="3.25" if unit == "in" else "82",
        ),
        "note": forms.CharField(required=False, label="Note", widget=forms.Textarea),
    }


@dataclass(frozen=True)
class FootPart:
    """The fields of a foot as the page shows them: what it wears, and what was measured last."""

    foot: str
    wears: str
    measured: str
    fields: Mapping[str, BoundField]

    @property
    def name(self) -> str:
        return Foot(self.foot).label

    @property
    def has_errors(self) -> bool:
        return any(field.errors for field in self.fields.values())

    @property
    def is_open(self) -> bool:
        """Whether its fields are in sight when the page opens: the first foot, and one with an error."""
        return self.has_errors or self.foot == FEET[0]

    @property
    def pairs(self) -> list[list[BoundField]]:
        """The fields that stand side by side."""
        return [[self.fields[name] for name in pair] for pair in PAIRS]


class PrescriptionForm(BookModelForm):
    """How a foot is to be shod until further notice."""

    class Meta:
        model = Prescription
        fields = ["item", "shoe", "clips", "pad", "packing", "angle", "note", "by", "valid_from", "valid_to"]
        labels = {
            "item": "Shoe",
            "shoe": "Shoe, in words",
            "angle": "Target angle, degrees",
            "by": "From whom",
            "valid_from": "From",
            "valid_to": "Until",
        }
        help_texts = {
            "shoe": "Only one that is not among your items.",
            "by": "The veterinarian, such as Dr. Quill. Leave blank for your own.",
            "valid_to": "Leave blank until it ends.",
        }
        field_classes = {"valid_to": PlannedDayField, "valid_from": PlannedDayField}

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        shoes = Item.objects.filter(kind=ItemKind.SHOE)
        kept = shoes.filter(archived=False) | shoes.filter(pk=self.instance.item_id)
        self.fields["item"].queryset = kept.order_by("name", "pk")
        self.fields["clips"].choices = [AS_THE_SHOE, *Clips.choices]
        angle = self.fields["angle"]
        angle.places, angle.low, angle.high, angle.example = 1, *ANGLE, "52"

    def clean(self):
        said = ("item", "shoe", "clips", "pad", "packing", "angle", "note")
        data = super().clean()
        if not self.errors and not any(data[name] not in (None, "") for name in said):
            self.add_error(
                "item", "Say what is prescribed: a shoe, clips, a pad, packing, an angle, or a note."
            )
        if data.get("item") and data.get("shoe"):
            self.add_error("shoe", "Choose one of your items, or type another shoe, not both.")
        return data


class NewPrescriptionForm(PrescriptionForm):
    """A prescription for one foot or several."""

    feet = forms.MultipleChoiceField(choices=Foot.choices, label="Feet", widget=forms.CheckboxSelectMultiple)
    field_order = ("feet",)

    class Meta(PrescriptionForm.Meta):
        exclude = ["valid_to"]

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["feet"].error_messages["required"] = "Choose one foot or more."


class FeetForm(BookForm):
    """How each foot was shod. `filled` are the values of a foot, `wears` and `measured` words about it."""

    def __init__(
        self,
        *args,
        row: Horse,
        filled: Mapping[str, Mapping[str, Any]],
        wears: Mapping[str, str],
        measured: Mapping[str, str],
        **kwargs,
    ):
        super().__init__(*args, row=row, **kwargs)
        self.wears, self.measured = wears, measured
        for foot in FEET:
            for name, template in fields_of_a_foot(self.profile.unit.small).items():
                field = deepcopy(template)
                field.row_label, field.label = field.label, f"{Foot(foot).label}, {field.label.lower()}"
                field.initial = filled.get(foot, {}).get(name)
                self.fields[f"{foot}_{name}"] = field
        nails = [f"{foot}_nails_{side}" for foot in FEET for side in ("outside", "inside")]
        self.ranges = dict.fromkeys(nails, (0, MOST_NAILS))
        self.fit(self.profile)

    @property
    def parts(self) -> list[FootPart]:
        names = fields_of_a_foot(self.profile.unit.small)
        return [
            FootPart(
                foot,
                self.wears.get(foot, ""),
                self.measured.get(foot, ""),
                {name: self[f"{foot}_{name}"] for name in names},
            )
            for foot in FEET
        ]

    @property
    def feet(self) -> dict[str, dict[str, Any]]:
        """What was typed of each foot, as `save_feet` takes it."""
        unit = self.profile.unit.small
        said = {}
        for foot in FEET:
            values = {name: self.cleaned_data[f"{foot}_{name}"] for name in fields_of_a_foot(unit)}
            said[foot] = values | {"toe_unit": unit if values["toe_length"] is not None else ""}
        return said
