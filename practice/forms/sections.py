"""A section of the practice's settings: its fields in groups, each with what it changes."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from django.forms import BoundField

from practice.lib.form_fields import NumberField
from practice.lib.forms import BookModelForm

UP_TO_A_YEAR = (0, 365)


@dataclass(frozen=True)
class FieldGroup:
    """Fields that belong together, under their heading."""

    heading: str
    fields: tuple[str, ...]


class SectionForm(BookModelForm):
    """A section of the settings. `groups` hold all of its fields."""

    groups: tuple[FieldGroup, ...] = ()

    def parts(self) -> Iterator[tuple[str, list[BoundField]]]:
        """Yield the heading of each group, and its fields that are on this page."""
        for group in self.groups:
            yield group.heading, [self[name] for name in group.fields if name in self.fields]

    def bound(self, name: str, example: str, high: Decimal | None = None) -> None:
        """Let a number be from 0 to `high`."""
        field: NumberField = self.fields[name]
        field.low, field.example = Decimal(0), example
        field.high = field.high if high is None else high
