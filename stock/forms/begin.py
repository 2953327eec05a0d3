"""What is on the truck of a new practice: a row of sizes at once, nails likewise, the rest a line each."""

from collections.abc import Iterator
from decimal import Decimal

from django import forms

from practice.lib.form_fields import PriceField
from practice.lib.forms import NumberField
from practice.lib.names import plain_name
from practice.lib.row_forms import RowGroup, RowsForm, ShownRows
from practice.lib.unit_input import UnitInput
from stock.actions.opening import OpeningItem
from stock.models import Fits, Item, ItemKind
from stock.models.item import SINGLY
from stock.rules.size_rows import one_for_each, sizes_in, words_in

COUNT = NumberField(label="Count", required=False, low=Decimal(0), example="14")
COST = PriceField(label="Cost of one", required=False, low=Decimal(0), example="3.40")
OTHER_KINDS = [(kind.value, kind.label) for kind in ItemKind if kind not in (ItemKind.SHOE, ItemKind.NAIL)]


def text(label: str, help_text: str = "") -> forms.CharField:
    return forms.CharField(label=label, required=False, max_length=200, help_text=help_text)


SHOES = RowGroup(
    one="Shoes",
    fields={
        "pattern": text("Pattern", "Such as Plain."),
        "fits": forms.ChoiceField(label="Fits", required=False, choices=Fits.choices, initial=Fits.FRONT),
        "sizes": text("Sizes", "Such as 0-3, or 00, 0, 1."),
        "counts": text("Counts", "One for each size, such as 8 8 12 4, or one for all."),
        "costs": text("Cost of one shoe", "One for all sizes, or one for each."),
    },
    rows=6,
    shown=1,
    more_as="More patterns",
)
NAILS = RowGroup(
    one="Nails",
    fields={
        "head": text("Nail", "Such as Slim."),
        "nail_sizes": text("Sizes", "Such as 4-6."),
        "nail_counts": text("Nails of each size", "In nails, not in boxes."),
        "nail_costs": text("Cost of one nail", "A box of 250 for 20.00 is 0.08 a nail."),
        # Common practice, no source.
        "box": NumberField(
            label="Nails in a box",
            required=False,
            places=0,
            above=Decimal(0),
            initial=Decimal(250),
            example="250",
        ),
    },
    rows=3,
    shown=1,
    more_as="More nails",
)
REST = RowGroup(
    one="Item",
    fields={
        "name": text("Name", "Such as Pad, leather."),
        "kind": forms.ChoiceField(label="Kind", required=False, choices=OTHER_KINDS, initial=ItemKind.PAD),
        "unit": forms.CharField(
            label="Counted in",
            required=False,
            max_length=20,
            initial=SINGLY,
            widget=UnitInput,
            help_text="Choose one, or type your own word.",
        ),
        "count": COUNT,
        "cost": COST,
    },
    rows=8,
    more_as="More items",
)


class BeginTruckForm(RowsForm):
    """Shoes by pattern, nails, and the rest. Figures in a row of sizes are told apart by blanks."""

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        for group in (SHOES, NAILS, REST):
            self.add_rows(group)
        self.fit(self.profile)

    @property
    def groups(self) -> list[tuple[str, ShownRows]]:
        """Return (heading, rows) for the page."""
        headings = (("Shoes", SHOES), ("Nails", NAILS), ("The rest", REST))
        return [(heading, self.rows_of(group)) for heading, group in headings]

    def clean(self):
        data = super().clean()
        rows = [*self._shoes(), *self._nails(), *self._rest()]
        if not self.errors:
            self._check_names([row for _, row in rows], [field for field, _ in rows])
        if not rows and not self.errors:
            self.add_error(None, "Type at least one row.")
        data["items"] = [row for _, row in rows]
        return data

    def _shoes(self) -> Iterator[tuple[str, OpeningItem]]:
        for number, row in self.typed_rows(SHOES):
            self.need("pattern", number, row["pattern"], "Type the pattern, such as Plain.")
            self.need("sizes", number, row["sizes"], "Type the sizes, such as 0-3.")
            fits = Fits(row["fits"] or Fits.ANY)
            for size, count, cost in self._sizes(number, "sizes", "counts", "costs"):
                kind = "" if fits == Fits.ANY else f" {fits.label.lower()}"
                name = f"{row['pattern']}{kind}, No {size}"
                item = OpeningItem(
                    name, ItemKind.SHOE, count, cost, pattern=row["pattern"], size=size, fits=fits
                )
                yield f"pattern_{number}", item

    def _nails(self) -> Iterator[tuple[str, OpeningItem]]:
        for number, row in self.typed_rows(NAILS):
            self.need("head", number, row["head"], "Type what kind of nail it is, such as Slim.")
            self.need("nail_sizes", number, row["nail_sizes"], "Type the sizes, such as 4-6.")
            for size, count, cost in self._sizes(number, "nail_sizes", "nail_counts", "nail_costs"):
                name = f"Nails, {row['head']} No {size}"
                more = {"pattern": row["head"], "size": size, "pack_size": row["box"] or Decimal(1)}
                yield f"head_{number}", OpeningItem(name, ItemKind.NAIL, count, cost, **more)

    def _rest(self) -> Iterator[tuple[str, OpeningItem]]:
        for number, row in self.typed_rows(REST):
            self.need("name", number, row["name"], "Type what it is called.")
            self.need("unit", number, row["unit"], "Type what it is counted in, such as each.")
            if row["unit"] == SINGLY and row["count"] is not None and row["count"] % 1:
                self.add_error(f"count_{number}", "Type a whole number, such as 14.")
            item = OpeningItem(
                row["name"], row["kind"], row["count"], row["cost"], unit=row["unit"] or SINGLY
            )
            yield f"name_{number}", item

    def _sizes(self, number: int, sizes: str, counts: str, costs: str) -> list[tuple]:
        """Return (size, count, cost) of each size in a row; none where something in it is wrong."""
        try:
            found = sizes_in(self.cleaned_data.get(f"{sizes}_{number}") or "")
        except ValueError as error:
            self.add_error(f"{sizes}_{number}", str(error))
            return []
        whole = NumberField(low=Decimal(0), places=0, example="8")
        counted = self._figures(f"{counts}_{number}", whole, found, "count")
        paid = self._figures(f"{costs}_{number}", PriceField(low=Decimal(0), example="3.40"), found, "cost")
        return list(zip(found, counted, paid, strict=True)) if found and counted and paid else []

    def _figures(self, name: str, field: NumberField, sizes: list[str], what: str) -> list[Decimal | None]:
        """Return a figure for each size, None where none was typed; nothing where the field is wrong."""
        field.profile = self.profile
        words = words_in(self.cleaned_data.get(name) or "")
        if not words:
            return [None] * len(sizes)
        try:
            return one_for_each([field.clean(word) for word in words], sizes, what)
        except forms.ValidationError as error:
            self.add_error(name, error)
        except ValueError as error:
            self.add_error(name, str(error))
        return []

    def _check_names(self, rows: list[OpeningItem], fields: list[str]) -> None:
        """Say beside a row that an item of its name is on the truck, or stands in another row."""
        known = {plain_name(name) for name in Item.objects.values_list("name", flat=True)}
        for row, field in zip(rows, fields, strict=True):
            if plain_name(row.name) in known and field not in self.errors:
                self.add_error(
                    field, f"{row.name} is on the truck already. Leave it out, or give it another name."
                )
            known.add(plain_name(row.name))
