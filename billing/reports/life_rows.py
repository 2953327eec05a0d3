"""The rows that change when something becomes of a horse or client, written down so that it can be undone."""

import json
from dataclasses import asdict, dataclass, field
from itertools import chain

from django.apps import apps
from django.db.models import Model, Q, QuerySet

from billing.models import BillTo
from practice.lib.merging import brought_back, written_down
from practice.models import Client, Horse, MaterialUse, Owner, Visit, Work


@dataclass(frozen=True)
class Touched:
    """The keys of horses, clients and planned visits that an event changes, and of events that go with it."""

    horses: list[int] = field(default_factory=list)
    clients: list[int] = field(default_factory=list)
    visits: list[int] = field(default_factory=list)
    events: list[int] = field(default_factory=list)

    def as_keys(self) -> dict[str, list[int]]:
        return asdict(self)

    def rows(self) -> list[QuerySet]:
        """Return all rows that may change, those that others name first."""
        payers = BillTo.objects.filter(Q(horse__in=self.horses) | Q(client__in=self.clients))
        rows = [
            Client.objects.filter(pk__in=self.clients),
            Horse.objects.filter(pk__in=self.horses),
            Owner.objects.filter(horse__in=self.horses),
            payers,
            Visit.objects.filter(pk__in=self.visits),
            Work.objects.filter(visit__in=self.visits),
            MaterialUse.objects.filter(visit__in=self.visits),
        ]
        return [each.order_by("pk") for each in rows]

    def written(self) -> str:
        """Return the rows as they are now, as text."""
        return written_down(chain.from_iterable(self.rows()))

    def bring_back(self, before: str, after: str) -> None:
        """Make the rows what they were `before`; what came with the event is deleted."""
        known = _keys(before)
        for model, key in reversed(_keys(after)):
            if (model, key) not in known:
                model.objects.filter(pk=key).delete()
        brought_back(before)


def _keys(text: str) -> list[tuple[type[Model], int]]:
    return [(apps.get_model(row["model"]), row["pk"]) for row in json.loads(text)]
