"""What came back from a visit."""

from decimal import Decimal

from django import forms

from practice.actions.materials import UnreturnedMaterial
from practice.lib import formats
from practice.lib.forms import BookForm, DayField, NumberField
from practice.models import Horse
from stock.models import Item, Location


class ReturnForm(BookForm):
    """A field for each thing that is still out at a horse; blank: it did not come back."""

    date = DayField(label="On")

    def __init__(self, *args, out: list[UnreturnedMaterial], **kwargs):
        super().__init__(*args, **kwargs)
        self.out = {f"back_{row.horse.pk}_{row.item.pk}": row for row in out}
        for name, row in self.out.items():
            used = formats.quantity(row.quantity, self.profile.locale)
            unit = "" if row.item.unit == "each" else f" {row.item.unit}"
            field = NumberField(
                label=f"{row.horse}: {row.item}",
                help_text=f"{used}{unit} out.",
                required=False,
                above=Decimal(0),
                high=row.quantity,
                example=used,
            )
            field.profile = self.profile
            self.fields[name] = field
        locations = Location.objects.order_by("pk")
        if locations.exists():
            self.fields["location"] = forms.ModelChoiceField(
                locations, required=False, label="To", empty_label="Where it left"
            )
        self.fields["note"] = forms.CharField(required=False, label="Note", max_length=300)

    def came_back(self) -> list[tuple[Horse, Item, Decimal]]:
        """Return what was typed, by horse and item."""
        typed = [(row, self.cleaned_data.get(name)) for name, row in self.out.items()]
        return [(row.horse, row.item, quantity) for row, quantity in typed if quantity is not None]
