"""Moving every row that names one entry to another one, and back; which models those are, Django knows."""

from collections.abc import Container, Iterable, Iterator
from dataclasses import dataclass

from django.core import serializers
from django.db.models import ForeignKey, Max, Model

BATCH = 500


@dataclass(frozen=True)
class Relation:
    """A column of a model that names an entry; `label` is what it is called in a merge's record."""

    model: type[Model]
    field: ForeignKey

    @property
    def label(self) -> str:
        return f"{self.model._meta.label_lower}.{self.field.name}"

    def rows(self, entry: Model):
        return self.model._base_manager.filter(**{self.field.name: entry.pk})

    def newest(self) -> int:
        """Return the highest key that any row of the model has."""
        return self.model._base_manager.aggregate(last=Max("pk"))["last"] or 0


def relations_to(model: type[Model], leave_out: Container[type[Model]] = ()) -> Iterator[Relation]:
    """Yield every relation of another model to this one, but for models that are left out."""
    for each in model._meta.get_fields(include_hidden=True):
        if each.auto_created and not each.concrete and each.related_model not in leave_out:
            yield Relation(each.related_model, each.field)


def move(relations: Iterable[Relation], taken: Model, kept: Model) -> dict[str, list[int]]:
    """Let every row that names `taken` name `kept`; return the keys of the rows by relation."""
    moved = {}
    for relation in relations:
        if keys := list(relation.rows(taken).order_by("pk").values_list("pk", flat=True)):
            relation.rows(taken).update(**{relation.field.name: kept.pk})
            moved[relation.label] = keys
    return moved


def move_back(relations: Iterable[Relation], moved: dict[str, list[int]], kept: Model, taken: Model) -> None:
    """Let those of the rows that `move` moved, and that still name `kept`, name `taken` again."""
    for relation in relations:
        keys = moved.get(relation.label, [])
        for first in range(0, len(keys), BATCH):
            rows = relation.rows(kept).filter(pk__in=keys[first : first + BATCH])
            rows.update(**{relation.field.name: taken.pk})


def written_down(rows: Iterable[Model]) -> str:
    """Return rows as text from which `brought_back` makes them again, with their keys."""
    return serializers.serialize("json", rows)


def brought_back(text: str) -> list[Model]:
    """Save rows again that `written_down` wrote and that were deleted since; return them."""
    rows = list(serializers.deserialize("json", text))
    for row in rows:
        row.save()
    return [row.object for row in rows]


def read_back(text: str) -> Model:
    """Return the one row that `written_down` wrote, not saved."""
    [row] = serializers.deserialize("json", text)
    return row.object
