"""What is found by name and by number, and what the search shows of each kind of thing."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date

from django.db.models import Model, Prefetch, QuerySet

from billing.models import CreditNote, Invoice
from practice.models import Client, Horse, Owner, Place
from practice.models.find import FindEntry
from practice.project.find.folding import digits_of, folded
from stock.models import Item, Order


@dataclass(frozen=True)
class NamedKind:
    """A kind of thing that has a name: its `columns` are what the index is made of.

    `more` is its second line in a list of what was found, `state` why it is not in use, blank where it is.
    """

    word: str
    model: type[Model]
    columns: tuple[str, ...]
    more: Callable[[Model], str]
    state: Callable[[Model], str]
    shown: Callable[[date], QuerySet]

    def entries(self, code: str, row: Model) -> list[FindEntry]:
        """Return what the index says of a row."""
        texts = {
            FindEntry.Way.NAME: folded(row.name),
            FindEntry.Way.PHONE: digits_of(getattr(row, "phone", "")),
        }
        active = not self.state(row)
        return [
            FindEntry(kind=code, key=row.pk, way=way, text=text, active=active)
            for way, text in texts.items()
            if text
        ]


def archived(row: Model) -> str:
    return "archived" if row.archived else ""


def horses(on: date) -> QuerySet:
    """Return horses with place and, as `now`, the owners of a day."""
    owners = Prefetch("owners", Owner.objects.on(on).select_related("client"), to_attr="now")
    return Horse.objects.select_related("place").prefetch_related(owners)


def more_of_horse(horse: Horse) -> str:
    names = [horse.place, *(owner.client for owner in horse.now)]
    return ", ".join(str(name) for name in names if name)


KINDS = {
    "horse": NamedKind(
        "Horse",
        Horse,
        ("name", "status"),
        more_of_horse,
        lambda horse: "" if horse.status == Horse.Status.ACTIVE else horse.get_status_display().lower(),
        horses,
    ),
    "client": NamedKind(
        "Client",
        Client,
        ("name", "phone", "archived"),
        lambda client: ", ".join(filter(None, [client.phone, client.email])),
        archived,
        lambda on: Client.objects.all(),
    ),
    "place": NamedKind(
        "Place",
        Place,
        ("name", "phone", "archived"),
        lambda place: ", ".join(filter(None, [place.phone, place.town])),
        archived,
        lambda on: Place.objects.all(),
    ),
    "item": NamedKind(
        "Item",
        Item,
        ("name", "archived"),
        lambda item: ", ".join(filter(None, [item.get_kind_display(), item.size_and_side])),
        archived,
        lambda on: Item.objects.all(),
    ),
}


@dataclass(frozen=True)
class NumberedKind:
    """A kind of paper that has a number, in the column `field`.

    `named` and `day` make its second line in a list of what was found, for which `along` is fetched with it.
    """

    word: str
    model: type[Model]
    field: str
    named: Callable[[Model], str]
    day: Callable[[Model], date]
    along: str

    def shown(self, on: date) -> QuerySet:
        return self.model.objects.select_related(self.along)


NUMBERED = {
    "invoice": NumberedKind(
        "Invoice",
        Invoice,
        "number",
        lambda invoice: str(invoice.client),
        lambda invoice: invoice.issued,
        "client",
    ),
    "credit note": NumberedKind(
        "Credit note",
        CreditNote,
        "number",
        lambda note: str(note.invoice.client),
        lambda note: note.issued,
        "invoice__client",
    ),
    "order": NumberedKind(
        "Order",
        Order,
        "ref",
        lambda order: str(order.supplier or ""),
        lambda order: order.ordered_on,
        "supplier",
    ),
}
