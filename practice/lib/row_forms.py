"""Forms with rows of the same fields, `price_1`, `price_2` …. A row in which nothing was typed is no row."""

from collections.abc import Mapping, Sequence
from copy import deepcopy
from dataclasses import dataclass
from typing import Any

from django.forms import Field
from django.forms.boundfield import BoundField

from practice.lib.forms import BookForm


@dataclass(frozen=True)
class RowGroup:
    """So many rows of the same fields. `one` is what a row is called: `Horse 2`.

    Folded away on the page are the fields of `folded`, under `folded_as`, and the rows after those `shown`,
    under `more_as`.
    """

    one: str
    fields: Mapping[str, Field]
    rows: int
    folded: tuple[str, ...] = ()
    folded_as: str = ""
    shown: int = 2
    more_as: str = "More rows"


@dataclass(frozen=True)
class FormRow:
    """A row as the page shows it; `is_typed`: something was typed into it."""

    heading: str
    fields: list[BoundField]
    folded: list[BoundField]
    folded_as: str
    is_typed: bool

    @property
    def is_open(self) -> bool:
        """Whether what is folded away has to be seen: something in it is wrong."""
        return any(field.errors for field in self.folded)


@dataclass(frozen=True)
class ShownRows:
    """The rows of a group: those in sight, and those folded away under `more_as`."""

    first: list[FormRow]
    more: list[FormRow]
    more_as: str

    @property
    def is_open(self) -> bool:
        """Whether the folded rows have to be seen: something was typed there."""
        return any(row.is_typed for row in self.more)


class RowsForm(BookForm):
    """A form with groups of rows, each added by `add_rows` in `__init__`."""

    def add_rows(self, group: RowGroup, filled: Sequence[Mapping[str, Any]] = ()) -> None:
        """Add the fields of a group; `filled` says what its first rows are filled in with."""
        for number in range(1, group.rows + 1):
            initial = filled[number - 1] if number <= len(filled) else {}
            for name, template in group.fields.items():
                field = deepcopy(template)
                field.row_label = field.label
                field.help_text = field.help_text if number == 1 else ""
                field.label = f"{group.one} {number}, {field.label.lower()}"
                field.initial = initial.get(name, field.initial)
                self.fields[f"{name}_{number}"] = field

    def rows_of(self, group: RowGroup) -> ShownRows:
        """Return the rows of a group for the page."""
        rows = [self._row(group, number) for number in range(1, group.rows + 1)]
        return ShownRows(rows[: group.shown], rows[group.shown :], group.more_as)

    def _row(self, group: RowGroup, number: int) -> FormRow:
        fields = {name: self[f"{name}_{number}"] for name in group.fields}
        return FormRow(
            f"{group.one} {number}",
            [field for name, field in fields.items() if name not in group.folded],
            [field for name, field in fields.items() if name in group.folded],
            group.folded_as,
            self._is_typed(group, number),
        )

    def typed_rows(self, group: RowGroup) -> list[tuple[int, dict[str, Any]]]:
        """Return (number, values by name) of the rows in which something was typed; None: wrong."""
        return [
            (number, {name: self.cleaned_data.get(f"{name}_{number}") for name in group.fields})
            for number in range(1, group.rows + 1)
            if self._is_typed(group, number)
        ]

    def _is_typed(self, group: RowGroup, number: int) -> bool:
        """Whether something stands in a row that the page did not fill in; what was emptied is nothing."""
        names = [f"{name}_{number}" for name in group.fields]
        return self.is_bound and any(name in self.changed_data and self[name].data for name in names)

    def need(self, name: str, number: int, value: Any, message: str) -> None:
        """Say beside a field of a row that it is needed, where it is blank and not wrong already."""
        field = f"{name}_{number}"
        if value in (None, "") and field not in self.errors:
            self.add_error(field, message)
