"""What is used of each size over the seasons, and what lies there without being used."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from django.db.models import Max, Sum
from django.db.models.functions import TruncMonth

from practice.lib.fields import ExactField
from stock.models import Item, Movement, MovementKind

ZERO = Decimal(0)
QUARTERS = 4
# Common practice, no source: what was not used for half a year is slow, for a year dead.
SLOW_AFTER, DEAD_AFTER = timedelta(days=182), timedelta(days=365)


@dataclass(frozen=True)
class Quarter:
    """Three calendar months; `last` is the last day that counts."""

    first: date
    last: date


@dataclass(frozen=True)
class Usage:
    """What was used of an item in each quarter, the oldest first; what came back from visits is taken off."""

    item: Item
    used: list[Decimal]

    @property
    def total(self) -> Decimal:
        return sum(self.used, ZERO)


@dataclass(frozen=True)
class IdleItem:
    """An item that lies on the shelf. `last_used` None: never; `since` counts days without a use."""

    item: Item
    on_hand: Decimal
    value: Decimal
    last_used: date | None
    dead: bool


def quarters(on: date, count: int = QUARTERS) -> list[Quarter]:
    """Return the quarter of a day, up to that day, and those before it; the oldest first."""
    first, found = date(on.year, (on.month - 1) // 3 * 3 + 1, 1), []
    last = on
    for _ in range(count):
        found.append(Quarter(first, last))
        last = first - timedelta(days=1)
        first = date(last.year, last.month - 2, 1)
    return found[::-1]


def used_by_month(
    begin: date, end: date, items: Iterable[Item] | None = None
) -> dict[int, dict[date, Decimal]]:
    """Return what was used, by item and first day of the month; returns from visits are taken off."""
    facts = Movement.objects.standing().filter(date__gte=begin, date__lte=end)
    if items is not None:
        facts = facts.filter(item__in=items)
    found: dict[int, dict[date, Decimal]] = defaultdict(lambda: defaultdict(Decimal))
    for kind, sign in ((MovementKind.USE, 1), (MovementKind.VISIT_RETURN, -1)):
        sums = (
            facts.filter(kind=kind)
            .annotate(month=TruncMonth("date"))
            .values("item", "month")
            .annotate(sum=Sum("quantity", output_field=ExactField()))
        )
        for row in sums:
            found[row["item"]][row["month"]] += sign * row["sum"]
    return found


def usage(on: date) -> tuple[list[Quarter], list[Usage]]:
    """Return the last four quarters, and what each item that was used took in them, in order of entry."""
    spans = quarters(on)
    by_month = used_by_month(spans[0].first, on)
    rows = [
        Usage(
            item,
            [
                sum((q for month, q in by_month[item.pk].items() if span.first <= month <= span.last), ZERO)
                for span in spans
            ],
        )
        for item in Item.objects.filter(pk__in=by_month).order_by("pk")
    ]
    return spans, rows


def months_of(item: Item, on: date, count: int = 12) -> list[tuple[date, Decimal]]:
    """Return what was used of an item in each of the last months, the oldest first."""
    months = [date(on.year, on.month, 1)]
    while len(months) < count:
        months.append((months[-1] - timedelta(days=1)).replace(day=1))
    used = used_by_month(months[-1], on, [item])[item.pk]
    return [(month, used.get(month, ZERO)) for month in reversed(months)]


def idle(on: date) -> list[IdleItem]:
    """Return items on hand that were not used for half a year, the most valuable first.

    What came within that time is new, not idle.
    """
    last_used = dict(
        Movement.objects.standing()
        .filter(kind=MovementKind.USE, date__lte=on)
        .values_list("item")
        .annotate(last=Max("date"))
    )
    came = dict(
        Movement.objects.standing()
        .filter(kind__in=[MovementKind.RECEIPT, MovementKind.COUNT], date__lte=on)
        .values_list("item")
        .annotate(last=Max("date"))
    )
    rows = []
    for item in Item.objects.filter(shelf__on_hand__gt=0).select_related("shelf").order_by("pk"):
        last = last_used.get(item.pk)
        since = last or came.get(item.pk)
        if since and on - since > SLOW_AFTER:
            rows.append(IdleItem(item, item.shelf.on_hand, item.shelf.value, last, on - since > DEAD_AFTER))
    return sorted(rows, key=lambda row: -row.value)
