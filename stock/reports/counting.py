"""What to count, and why; the sheet of a place in the order in which things lie there."""

from collections import defaultdict
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal

from django.db.models import Max, Sum

from practice.lib.fields import ExactField
from stock.models import Balance, Found, Item, ItemKind, Location, Movement, MovementKind, Shelf, Side
from stock.reports.sizes import size_key

# Common practice, no source: what moves is counted four times a year, what is used most once a month.
LONG, OFTEN = timedelta(days=91), timedelta(days=30)
MOST_USED = 8
KINDS = {kind: place for place, kind in enumerate(ItemKind.values)}
SIDES = {Side.LEFT: 0, Side.RIGHT: 1, Side.ANY: 2}


def shelf_key(item: Item) -> tuple:
    """Sort items as they lie: by their place on the shelf where one is given, else kind, pattern, size."""
    given = item.shelf_order is None, item.shelf_order or 0
    trade = KINDS.get(item.kind, len(KINDS)), item.pattern, item.fits, size_key(item.size)
    return *given, *trade, SIDES[item.side], item.name, item.pk


@dataclass(frozen=True)
class CountLine:
    """An item of a sheet. `found` is what was kept so far; `asks_cost` where the book knows no cost."""

    item: Item
    found: Found | None = None
    asks_cost: bool = False


@dataclass
class CountSheet:
    """What there is to count at a place (None: the one shelf), by kind, and the day that is counted."""

    location: Location | None
    lines: list[CountLine]
    on: date | None = None

    @property
    def sections(self) -> list[tuple[str, list[CountLine]]]:
        """Runs of lines of one kind, as they lie."""
        runs: list[tuple[str, list[CountLine]]] = []
        for line in self.lines:
            label = ItemKind(line.item.kind).label
            if not runs or runs[-1][0] != label:
                runs.append((label, []))
            runs[-1][1].append(line)
        return runs

    @property
    def filled(self) -> list[CountLine]:
        return [line for line in self.lines if line.found]


def places() -> list[Location | None]:
    """Return the places that have a sheet: the locations, or the one shelf."""
    return list(Location.objects.order_by("pk")) or [None]


def at_place(location: Location | None) -> list[int | None]:
    """Return the keys under which a place's rows may stand: what names none is at the first."""
    if location is None:
        return [None]
    first = Location.objects.order_by("pk").values_list("pk", flat=True).first()
    return [location.pk, None] if location.pk == first else [location.pk]


def found_at(location: Location | None) -> list[Found]:
    """Return what was found at a place so far, in order of entry."""
    keys = at_place(location)
    return [row for row in Found.objects.select_related("item").order_by("pk") if row.location_id in keys]


def sheet_of(location: Location | None) -> CountSheet:
    """Return the sheet of a place: items in use, and any other that the book has there or was found."""
    found = {row.item_id: row for row in found_at(location)}
    keys = at_place(location)
    there = {
        row.item_id
        for row in Balance.objects.exclude(quantity=0).only("item_id", "location_id")
        if row.location_id in keys
    }
    known = {shelf.item_id for shelf in Shelf.objects.only("item_id", "state") if shelf.state.get("known")}
    items = [row for row in Item.objects.order_by("pk") if not row.archived or row.pk in there | set(found)]
    lines = [
        CountLine(item, found.get(item.pk), item.pk not in known) for item in sorted(items, key=shelf_key)
    ]
    return CountSheet(location, lines, max((row.date for row in found.values()), default=None))


def begun() -> dict[int | None, int]:
    """Return how many items are filled in on the sheet of each place."""
    filled: dict[int | None, int] = defaultdict(int)
    first = Location.objects.order_by("pk").values_list("pk", flat=True).first()
    for key in Found.objects.values_list("location", flat=True):
        filled[key or first] += 1
    return dict(filled)


@dataclass
class ToCount:
    """An item to count, and why: `below` (places with less than nothing), `since` (not counted since that
    day), `never` counted, `used` (of what is used most, the quantity lately)."""

    item: Item
    below: list[tuple[str, Decimal]] = field(default_factory=list)
    since: date | None = None
    never: bool = False
    used: Decimal | None = None


def things_to_count(on: date) -> list[ToCount]:
    """Return what to count on a day: below zero first, then long uncounted, then what is used most.

    Something long uncounted has moved since: what lies still is not asked for.
    """
    items = {item.pk: item for item in Item.objects.order_by("pk")}
    below = _below_zero()
    counted = _last(MovementKind.COUNT, on)
    moved = _last(None, on)
    rows = [ToCount(items[pk], below=places) for pk, places in below.items()]
    by_item = {row.item.pk: row for row in rows}

    def row_of(pk: int) -> ToCount:
        if pk not in by_item:
            by_item[pk] = ToCount(items[pk])
            rows.append(by_item[pk])
        return by_item[pk]

    current = [pk for pk, item in items.items() if not item.archived and pk in moved]
    for pk in sorted(current, key=lambda pk: (counted.get(pk, date.min), pk)):
        if pk not in counted:
            row_of(pk).never = True
        elif on - counted[pk] > LONG and moved[pk] > counted[pk]:
            row_of(pk).since = counted[pk]
    for pk, quantity in _most_used(on, set(current)):
        if on - counted.get(pk, date.min) > OFTEN:
            row_of(pk).used = quantity
    return rows


def _below_zero() -> dict[int, list[tuple[str, Decimal]]]:
    below: dict[int, list] = {}
    rows = Balance.objects.select_related("location").order_by("item", "location")
    for row in rows:
        if row.quantity < 0:
            place = str(row.location) if row.location else ""
            below.setdefault(row.item_id, []).append((place, row.quantity))
    return below


def _last(kind: str | None, on: date) -> dict[int, date]:
    """Return the day of the last fact of each item by then: of a kind, or of any but a count."""
    facts = Movement.objects.standing().filter(date__lte=on)
    facts = facts.filter(kind=kind) if kind else facts.exclude(kind=MovementKind.COUNT)
    return dict(facts.order_by().values_list("item").annotate(last=Max("date")))


def _most_used(on: date, among: set[int]) -> list[tuple[int, Decimal]]:
    """Return the items of which visits used most packs in the last quarter, with the quantity of each."""
    uses = (
        Movement.objects.standing()
        .filter(kind=MovementKind.USE, date__gt=on - LONG, date__lte=on, item__in=among)
        .order_by()
        .values("item")
        .annotate(used=Sum("quantity", output_field=ExactField()))
    )
    found = [(row["item"], row["used"]) for row in uses]
    packs = dict(Item.objects.values_list("pk", "pack_size"))
    return sorted(found, key=lambda row: (-row[1] / packs[row[0]], row[0]))[:MOST_USED]
