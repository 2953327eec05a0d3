"""The fields of the form of a horse, and what a state fills them with."""

from collections.abc import Hashable, Iterable
from decimal import Decimal

from django import forms

from practice.lib.form_fields import NumberField, PriceField
from practice.rules.horse_work import HorseWork

# Stands for the key of a line of work in the names of the fields that the page makes more lines from.
ANY_LINE = "LINE"


class ChosenKeyField(forms.Field):
    """The key of a row that a button chose, kept in a hidden field; None for no row, or an unknown one."""

    widget = forms.HiddenInput

    def __init__(self):
        super().__init__(required=False)
        self.keys: Iterable[Hashable] = ()

    def to_python(self, value):
        return next((key for key in self.keys if str(key) == value), None)


def count_field(label: str, example: str = "12", **more) -> NumberField:
    return NumberField(label=label, required=False, low=Decimal(0), example=example, **more)


def fields_of_line(key: str) -> dict[str, forms.Field]:
    """Return the fields of a line of work: quantity, price and note."""
    price = PriceField(
        label="Unit price, if not the list price",
        required=False,
        low=Decimal(0),
        money=True,
        example="45.00",
    )
    return {
        f"quantity_{key}": count_field("Quantity", "1.5", step=Decimal("0.5")),
        f"price_{key}": price,
        f"note_{key}": forms.CharField(
            required=False, label="Note", widget=forms.Textarea(attrs={"rows": 3})
        ),
    }


def initial_of(state: HorseWork) -> dict:
    """Return the fields of the form for a state."""
    fields = {
        "work": [line.key for line in state.work],
        "foot": state.feet,
        "nail": state.nail,
        "nails": state.nails,
    }
    for line in state.work:
        fields[f"quantity_{line.key}"] = line.quantity
        fields[f"price_{line.key}"] = line.price
        fields[f"note_{line.key}"] = line.note
    fields |= {f"shoe_{foot}": shoe for foot, shoe in state.shoes.items()}
    return fields | {f"item_{item}": count for item, count in state.counts.items() if count}
