"""The form of what came back from a visit."""

from decimal import Decimal

from django import forms

from practice.actions.materials import UnreturnedMaterial
from practice.lib import formats
from practice.lib.forms import BookForm, NumberField, PastDayField
from practice.models import Horse
from stock.models import Item, Location


class ReturnForm(BookForm):
    """A field for each thing used on a horse that has not come back; blank: it did not."""

    date = PastDayField(label="Date")

    def __init__(self, *args, out: list[UnreturnedMaterial], **kwargs):
        super().__init__(*args, **kwargs)
        self.out = {f"back_{row.horse.pk}_{row.item.pk}": row for row in out}
        for name, row in self.out.items():
            used = formats.quantity(row.quantity, self.profile.locale)
            unit = "" if row.item.unit == "each" else f" {row.item.unit}"
            field = NumberField(
                label=f"{row.horse}: {row.item}",
                help_text=f"{used}{unit} used.",
                required=False,
                above=Decimal(0),
                high=row.quantity,
                places=0 if row.item.is_counted_singly and not row.quantity % 1 else 6,
                example=used,
            )
            field.profile = self.profile
            self.fields[name] = field
        locations = Location.objects.order_by("pk")
        if locations.exists():
            self.fields["location"] = forms.ModelChoiceField(
                locations, required=False, label="Back to", empty_label="Where it came from"
            )
        self.fields["note"] = forms.CharField(required=False, label="Note", max_length=300)

    def came_back(self) -> list[tuple[Horse, Item, Decimal]]:
        """Return what was typed: each horse and item with the quantity that came back, in the item's unit."""
        typed = [(row, self.cleaned_data.get(name)) for name, row in self.out.items()]
        return [(row.horse, row.item, quantity) for row, quantity in typed if quantity is not None]

    def destination(self) -> dict:
        """Return day, place and note, as `return_materials` takes them."""
        data = self.cleaned_data
        return {"on": data["date"], "location": data.get("location"), "note": data["note"]}
