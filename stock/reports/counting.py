"""What to count, and why; the count sheet of a location in shelf order, and what its counts would change."""

from collections import defaultdict
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal

from django.db.models import Max, OuterRef, Q, Subquery, Sum

from practice.lib import formats
from practice.lib.fields import ExactField
from stock.models import Balance, Found, Item, ItemKind, Location, Movement, MovementKind, Shelf, Side
from stock.reports.sizes import size_key

# Common practice, no source: what moves is counted four times a year, what is used most once a month.
LONG, OFTEN = timedelta(days=91), timedelta(days=30)
MOST_USED = 8
SHELF = "The shelf"  # what a practice without locations has
KINDS = {kind: position for position, kind in enumerate(ItemKind.values)}
SIDES = {Side.LEFT: 0, Side.RIGHT: 1, Side.ANY: 2}


def shelf_key(item: Item) -> tuple:
    """Sort items in shelf order: by their given position on the shelf, else by kind, pattern, size."""
    given = item.shelf_order is None, item.shelf_order or 0
    trade = KINDS.get(item.kind, len(KINDS)), item.pattern, item.fits, size_key(item.size)
    return *given, *trade, SIDES[item.side], item.name, item.pk


@dataclass(frozen=True)
class CountLine:
    """An item of a sheet. `found` is the count saved so far; `asks_cost` where the book knows no cost."""

    item: Item
    found: Found | None = None
    asks_cost: bool = False


@dataclass
class CountSheet:
    """What there is to count at a location (None: the one shelf), and the day that is counted."""

    location: Location | None
    lines: list[CountLine]
    on: date | None = None

    @property
    def name(self) -> str:
        return str(self.location or SHELF)

    @property
    def sections(self) -> list[tuple[str, list[CountLine]]]:
        """Return (heading, lines): runs of lines of one kind, in shelf order."""
        runs: list[tuple[str, list[CountLine]]] = []
        for line in self.lines:
            label = ItemKind(line.item.kind).plural
            if not runs or runs[-1][0] != label:
                runs.append((label, []))
            runs[-1][1].append(line)
        return runs

    @property
    def filled(self) -> list[CountLine]:
        return [line for line in self.lines if line.found]


@dataclass(frozen=True)
class CountDifference:
    """What posting a line changes: the book's quantity there, what was counted, what that is worth."""

    item: Item
    book: Decimal
    counted: Decimal
    cost: Decimal

    @property
    def quantity(self) -> Decimal:
        return self.counted - self.book

    @property
    def sign(self) -> str:
        """The plus of a quantity above 0; the minus comes with the number."""
        return "+" if self.quantity > 0 else ""


@dataclass(frozen=True)
class CountReview:
    """What posting a sheet would change, line by line; `refused` says why it cannot be posted, if so."""

    sheet: CountSheet
    differences: list[CountDifference]
    refused: str = ""

    @property
    def on(self) -> date | None:
        return self.sheet.on

    @property
    def differing(self) -> list[CountDifference]:
        return [row for row in self.differences if row.quantity or row.cost]

    @property
    def matching(self) -> list[CountDifference]:
        return [row for row in self.differences if not row.quantity and not row.cost]

    @property
    def worth(self) -> Decimal:
        """What the shelf would be worth more (or less, below 0) than the book says, in the currency."""
        return sum((row.cost for row in self.differences), Decimal(0))

    @property
    def heading(self) -> str:
        if self.refused:
            return "The count cannot be saved."
        if not self.differing:
            return f"{self.matching_words}."
        counted = formats.counted(len(self.differences), "item")
        return (
            f"{len(self.differing)} of {counted} {_verb(self.differing, 'differs', 'differ')} from the book."
        )

    @property
    def matching_words(self) -> str:
        verb = _verb(self.matching, "matches", "match")
        return f"{formats.counted(len(self.matching), 'item')} {verb} the book"

    @property
    def uncounted(self) -> str:
        """What happens to the lines that were left blank; blank where all are filled in."""
        left = len(self.sheet.lines) - len(self.sheet.filled)
        if not left:
            return ""
        words = "was not counted and stays as it is" if left == 1 else "were not counted and stay as they are"
        return f"{formats.counted(left, 'item')} {words} in the book."


def _verb(rows: list, one: str, many: str) -> str:
    return one if len(rows) == 1 else many


def location_keys(location: Location | None) -> list[int | None]:
    """Return the keys under which a location's rows may be: what names no location is at the first."""
    if location is None:
        return [None]
    first = Location.objects.in_order().values_list("pk", flat=True).first()
    return [location.pk, None] if location.pk == first else [location.pk]


def found_at(location: Location | None) -> list[Found]:
    """Return the counts saved on a location's sheet so far, in order of entry."""
    keys = location_keys(location)
    return [row for row in Found.objects.select_related("item").order_by("pk") if row.location_id in keys]


def sheet_of(location: Location | None) -> CountSheet:
    """Return the sheet of a location: items in use, and any others in the book or counted there."""
    found = {row.item_id: row for row in found_at(location)}
    keys = location_keys(location)
    in_the_book = {
        row.item_id
        for row in Balance.objects.exclude(quantity=0).only("item_id", "location_id")
        if row.location_id in keys
    }
    known = {shelf.item_id for shelf in Shelf.objects.only("item_id", "state") if shelf.state.get("known")}
    listed = in_the_book | set(found)
    items = [item for item in Item.objects.in_order() if not item.archived or item.pk in listed]
    lines = [
        CountLine(item, found.get(item.pk), item.pk not in known) for item in sorted(items, key=shelf_key)
    ]
    return CountSheet(location, lines, max((row.date for row in found.values()), default=None))


@dataclass(frozen=True)
class SheetInList:
    """The sheet of a location as the list of sheets shows it. `key` is 0 for the one shelf."""

    key: int
    name: str
    filled: int

    @property
    def status(self) -> str:
        return (
            f"In progress: {formats.counted(self.filled, 'item')} counted" if self.filled else "Not started"
        )

    @property
    def next_step(self) -> str:
        return "Continue" if self.filled else "Count"


def count_sheets() -> list[SheetInList]:
    """Return the sheets of all locations, or that of the one shelf, with how many lines are filled in."""
    locations = list(Location.objects.in_order())
    first = locations[0].pk if locations else 0
    filled: dict[int, int] = defaultdict(int)
    for key in Found.objects.values_list("location", flat=True):
        filled[key or first] += 1
    named = [(location.pk, location.name) for location in locations] or [(0, SHELF)]
    return [SheetInList(key, name, filled[key]) for key, name in named]


@dataclass
class ToCount:
    """An item to count, and why.

    `below`: (location's name, quantity) where the book has less than nothing; `since`: the day of its last
    count, where that is long ago; `never` counted; `used`: what visits took in three months, where that is a
    lot.
    """

    item: Item
    below: list[tuple[str, Decimal]] = field(default_factory=list)
    since: date | None = None
    never: bool = False
    used: Decimal | None = None


def things_to_count(on: date) -> list[ToCount]:
    """Return what to count on a day: below zero first, then not counted for long, then what is used most.

    What has not moved since its last count need not be counted.
    """
    items = {item.pk: item for item in Item.objects.in_order()}
    below = _below_zero()
    counted, moved = _last_counts(on), _last_moves(on)
    rows = [ToCount(items[pk], below=quantities) for pk, quantities in below.items()]
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
            location = str(row.location) if row.location else ""
            below.setdefault(row.item_id, []).append((location, row.quantity))
    return below


def _last_counts(on: date) -> dict[int, date]:
    """Return the day of the last count of each item by then."""
    # The day is no condition of the rows: it would draw SQLite to the index of all facts.
    counts = Movement.objects.counts().filter(reversal__isnull=True).order_by().values_list("item")
    rows = counts.annotate(last=Max("date", filter=Q(date__lte=on)))
    return {item: day for item, day in rows if day}


def _last_moves(on: date) -> dict[int, date]:
    """Return the day of the last fact of each item by then that is no count, looked up from the end."""
    facts = Movement.objects.standing().filter(item=OuterRef("pk"), date__lte=on)
    last = facts.exclude(kind=MovementKind.COUNT).order_by("-date").values("date")[:1]
    rows = Item.objects.order_by().annotate(moved=Subquery(last)).values_list("pk", "moved")
    return {item: day for item, day in rows if day}


def _most_used(on: date, among: set[int]) -> list[tuple[int, Decimal]]:
    """Return (item's key, units used) for those of which visits used most packs in the last quarter."""
    uses = (
        Movement.objects.filter(kind=MovementKind.USE, reversal__isnull=True)
        .filter(date__gt=on - LONG, date__lte=on, item__in=among)
        .order_by()
        .values("item")
        .annotate(used=Sum("quantity", output_field=ExactField()))
    )
    used = [(row["item"], row["used"]) for row in uses]
    pack_sizes = dict(Item.objects.values_list("pk", "pack_size"))
    return sorted(used, key=lambda row: (-row[1] / pack_sizes[row[0]], row[0]))[:MOST_USED]
