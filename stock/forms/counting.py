"""The count sheet of a location: how many of each item are there."""

from dataclasses import dataclass
from decimal import Decimal

from django.forms.boundfield import BoundField

from practice.lib.asking import as_text
from practice.lib.form_fields import PriceField
from practice.lib.forms import BookForm, NumberField, PastDayField
from stock.actions.counting import TypedCount
from stock.models import Item
from stock.reports.counting import CountLine, CountSheet


@dataclass(frozen=True)
class SheetRow:
    """A line of the sheet with its fields; `cost` where the book knows no cost of the item."""

    item: Item
    counted: BoundField
    cost: BoundField | None
    is_saved: bool

    @property
    def errors(self) -> list[str]:
        return [*self.counted.errors, *(self.cost.errors if self.cost else [])]


class SheetForm(BookForm):
    """A field for each line of a sheet, all of them optional.

    The page carries what it was filled with, so that only what was typed on it is saved: two people may
    fill in one sheet at once. `save_at` is the address that saves a line as soon as it is typed.
    """

    date = PastDayField(label="At the end of")

    def __init__(self, *args, sheet: CountSheet, save_at: str = "", **kwargs):
        initial = {"date": sheet.on} if sheet.on else {}
        for line in sheet.lines:
            if line.found:
                initial[f"found_{line.item.pk}"] = line.found.quantity
                initial[f"cost_{line.item.pk}"] = line.found.unit_cost
        super().__init__(*args, initial=kwargs.pop("initial", {}) | initial, **kwargs)
        self.sheet = sheet
        for line in sheet.lines:
            self._add(line, save_at)

    def _add(self, line: CountLine, save_at: str) -> None:
        key, item = line.item.pk, line.item
        fields = {
            f"found_{key}": NumberField(
                label=f"{item}, counted",
                required=False,
                low=Decimal(0),
                places=0 if item.is_counted_singly else 6,
                example="14",
            )
        }
        if line.asks_cost:
            fields[f"cost_{key}"] = PriceField(
                label=f"{item}, unit cost", required=False, low=Decimal(0), example="3.40"
            )
        for name, field in fields.items():
            field.show_hidden_initial = True
            field.profile = self.profile
            field.widget.attrs |= {
                "hx-post": save_at,
                "hx-trigger": "change",
                "hx-target": f"#saved-{key}",
                "hx-swap": "outerHTML",
                "aria-label": field.label,
            }
            self.fields[name] = field

    def clean(self):
        """Leave alone what someone else saved on a line since the page had it, and say so beside it."""
        data = super().clean()
        for name in [name for name in self.changed_data if name != "date"]:
            before, field = self.data.get(self.add_initial_prefix(name)), self.fields[name]
            now, typed = as_text(field, self.initial.get(name)), as_text(field, self.data.get(name))
            if before is not None and now not in (before, typed):
                saved = f"Someone saved {now} here" if now else "Someone emptied this line"
                self.add_error(name, f"{saved} in the meantime. Save the sheet to replace it with yours.")
                self.data = self.data.copy()
                self.data[self.add_initial_prefix(name)] = now
        return data

    @property
    def sections(self) -> list[tuple[str, list[SheetRow]]]:
        """Return (heading, rows)."""
        return [(label, [self.row(line) for line in lines]) for label, lines in self.sheet.sections]

    def row(self, line: CountLine) -> SheetRow:
        key = line.item.pk
        cost = self[f"cost_{key}"] if line.asks_cost else None
        return SheetRow(line.item, self[f"found_{key}"], cost, bool(line.found))

    def mark_saved(self) -> None:
        """Have the page carry what was saved: what is typed next is compared with that."""
        self.data = self.data.copy()
        for name in self.fields:
            if name not in self.errors:
                self.data[self.add_initial_prefix(name)] = self.data.get(name, "")

    def typed(self, only: str | None = None) -> dict[Item, TypedCount]:
        """Return what was typed and can be read, by item; what stayed as the page had it is left out.

        `only`: the name of one field, for that field's line alone.
        """
        typed = {}
        for line in self.sheet.lines:
            names = [f"found_{line.item.pk}", f"cost_{line.item.pk}"]
            asked = only is None or only in names
            readable = not any(name in self.errors for name in names)
            if asked and readable and set(names) & set(self.changed_data):
                typed[line.item] = TypedCount(*(self.cleaned_data.get(name) for name in names))
        return typed
