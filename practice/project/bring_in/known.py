"""What the book has of a name, so that a sheet can say names where the book's files say refs."""

from collections import defaultdict
from datetime import date
from typing import Any

from practice.models import Client, Horse, Owner, Place, Service
from practice.project.bring_in.typed import folded
from stock.models import Item, Supplier

CLIENT, HORSE, PLACE, ITEM, SUPPLIER, SERVICE = "client", "horse", "place", "item", "supplier", "service"
MODELS = {CLIENT: Client, PLACE: Place, ITEM: Item, SUPPLIER: Supplier, SERVICE: Service}


class KnownNames:
    """Finds the rows of the book by their names, capitals, accents and doubled blanks aside."""

    def __init__(self, today: date):
        self.today = today
        self._by_name: dict[str, dict[str, list[Any]]] = {}
        self._owners: dict[int, set[str]] | None = None
        self._last_done: dict[int, date | None] | None = None

    def all_of(self, what: str) -> list[Any]:
        """Return all rows of a kind, in order of entry."""
        return [row for rows in self._names_of(what).values() for row in rows]

    def _names_of(self, what: str) -> dict[str, list[Any]]:
        if what not in self._by_name:
            self._by_name[what] = by_name = defaultdict(list)
            rows = Horse.objects.select_related("place") if what == HORSE else MODELS[what].objects.all()
            for row in rows.order_by("pk"):
                by_name[folded(row.name)].append(row)
        return self._by_name[what]

    def of(self, what: str, name: str) -> list[Any]:
        """Return the rows of this name: those that are not archived, else those that are."""
        rows = self._names_of(what).get(folded(name), [])
        return [row for row in rows if not getattr(row, "archived", False)] or rows

    def horses_of(self, name: str, owners: set[str]) -> list[Horse]:
        """Return the horses of this name that these clients own, or that have no owner; `owners` are keys.

        Where none are given, all of the name.
        """
        rows = self.of(HORSE, name)
        if not owners:
            return rows
        return [row for row in rows if not self.owners_of(row) or self.owners_of(row) & owners]

    def owners_of(self, horse: Horse) -> set[str]:
        """Return the keys of a horse's owners of today."""
        if self._owners is None:
            self._owners = defaultdict(set)
            for owner in Owner.objects.on(self.today).select_related("client"):
                self._owners[owner.horse_id].add(owner.client.key)
        return self._owners.get(horse.pk, set())

    def last_done(self, horse: Horse) -> date | None:
        """Return the day of a horse's last work that resets its cycle; None for a new horse."""
        if self._last_done is None:
            self._last_done = dict(Horse.objects.with_last_done().values_list("pk", "last_done"))
        return self._last_done.get(horse.pk)


def told_apart(row: Any) -> str:
    """Return what tells a row of the book from others of its name: `Bramble, at Lantern Barn`."""
    more = [getattr(row, name, "") for name in ("phone", "email", "address")]
    place = getattr(row, "place", None)
    said = f"at {place}" if place else next((text for text in more if text), "")
    words = [row.name, said.replace("\n", ", "), "archived" if getattr(row, "archived", False) else ""]
    return ", ".join(word for word in words if word)
