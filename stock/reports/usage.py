"""What is used of each size over the seasons, and what sits there without being used."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from django.db.models import OuterRef, Subquery, Sum

from practice.lib import formats
from practice.lib.charts import FOOT, LEFT, RIGHT, Chart, ChartWord, columns
from practice.lib.fields import ExactField
from practice.lib.figures import FigureRow, FigureTable
from practice.lib.profile import Profile
from stock.models import Item, ItemKind, Movement, MovementKind
from stock.reports.levels import on_hand

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
    """What visits used of an item in each quarter, oldest first, less what came back; and what is left."""

    item: Item
    by_quarter: list[tuple[Quarter, Decimal]]
    on_hand: Decimal

    @property
    def total(self) -> Decimal:
        return sum((used for _, used in self.by_quarter), ZERO)


@dataclass(frozen=True)
class IdleItem:
    """An item that sits on the shelf unused. `last_used` None: never."""

    item: Item
    on_hand: Decimal
    value: Decimal
    last_used: date | None
    dead: bool


@dataclass(frozen=True)
class UsageReport:
    """The last four quarters, what was used in them by kind of item, and what is idle."""

    quarters: list[Quarter]
    groups: list[tuple[str, list[Usage]]]
    idle: list[IdleItem]

    @property
    def heading(self) -> str:
        if not self.groups:
            return "Nothing was used in the last four quarters."
        if self.idle:
            return f"{formats.counted(len(self.idle), 'item is', 'items are')} sitting idle."
        return "Everything on the shelf is moving."


def quarters(on: date, count: int = QUARTERS) -> list[Quarter]:
    """Return the quarter of a day, up to that day, and those before it; the oldest first."""
    first, last, latest_first = date(on.year, (on.month - 1) // 3 * 3 + 1, 1), on, []
    for _ in range(count):
        latest_first.append(Quarter(first, last))
        last = first - timedelta(days=1)
        first = date(last.year, last.month - 2, 1)
    return latest_first[::-1]


def used_by_month(
    begin: date, end: date, items: Iterable[Item] | None = None
) -> dict[int, dict[date, Decimal]]:
    """Return what visits used, by the item's key and the first day of the month, less what came back."""
    # Naming the items lets the index of facts be used.
    among = Item.objects.values("pk") if items is None else items
    facts = Movement.objects.standing().filter(item__in=among, date__gte=begin, date__lte=end)
    used: dict[int, dict[date, Decimal]] = defaultdict(lambda: defaultdict(Decimal))
    for kind, sign in ((MovementKind.USE, 1), (MovementKind.VISIT_RETURN, -1)):
        days = facts.filter(kind=kind).order_by().values_list("item", "date")
        for item, day, quantity in days.annotate(sum=Sum("quantity", output_field=ExactField())):
            used[item][day.replace(day=1)] += sign * quantity
    return used


def usage(on: date) -> list[Usage]:
    """Return what was used of each item in the last four quarters, if anything, in order of entry."""
    by_month, left = used_by_month(quarters(on)[0].first, on), on_hand()
    return [
        Usage(
            item,
            [(quarter, _used_in(quarter, by_month[item.pk])) for quarter in quarters(on)],
            left.get(item.pk, ZERO),
        )
        for item in Item.objects.filter(pk__in=by_month).in_order()
    ]


def _used_in(quarter: Quarter, by_month: dict[date, Decimal]) -> Decimal:
    return sum((used for month, used in by_month.items() if quarter.first <= month <= quarter.last), ZERO)


def usage_report(on: date) -> UsageReport:
    """Return what the page of usage shows on a day."""
    rows = usage(on)
    groups = [(kind.plural, [row for row in rows if row.item.kind == kind]) for kind in ItemKind]
    return UsageReport(quarters(on), [(heading, rows) for heading, rows in groups if rows], idle(on))


def months_of(item: Item, on: date, count: int = 12) -> list[tuple[date, Decimal]]:
    """Return (first of the month, units used) of an item for each of the last months, the oldest first."""
    months = [date(on.year, on.month, 1)]
    while len(months) < count:
        months.append((months[-1] - timedelta(days=1)).replace(day=1))
    used = used_by_month(months[-1], on, [item])[item.pk]
    return [(month, used.get(month, ZERO)) for month in reversed(months)]


def usage_chart(item: Item, on: date, profile: Profile) -> Chart | None:
    """Return the chart of an item's use in the last twelve months; None where nothing was used."""
    months = months_of(item, on)
    if not any(used for _, used in months):
        return None
    names = [formats.month_name(month, profile.locale) for month, _ in months]
    rows = [
        FigureRow(name, (formats.quantity(used, profile.locale),))
        for name, (_, used) in zip(names, months, strict=True)
    ]
    used = formats.quantity(sum((used for _, used in months), ZERO), profile.locale)
    return Chart(
        drawing=columns([used for _, used in months], [""] * len(months)),
        title=f"{item}: used each month",
        description=f"{used} used from {names[0]} to {names[-1]}.",
        table=FigureTable(("Month", "Used"), tuple(rows)),
        words=(ChartWord(names[0], LEFT, FOOT, "start"), ChartWord(names[-1], RIGHT, FOOT, "end")),
    )


def _last_fact(on: date, *kinds: MovementKind) -> Subquery:
    """Return an annotation: the day of an item's last fact of these kinds, looked up from a day back."""
    facts = Movement.objects.standing().filter(item=OuterRef("pk"), kind__in=kinds, date__lte=on)
    return Subquery(facts.order_by("-date").values("date")[:1])


def idle(on: date) -> list[IdleItem]:
    """Return items on hand that were not used for half a year, the most valuable first.

    What was never used and came within that time is new, not idle.
    """
    items = Item.objects.filter(shelf__on_hand__gt=0).annotate(
        last_used=_last_fact(on, MovementKind.USE),
        last_came=_last_fact(on, MovementKind.RECEIPT, MovementKind.COUNT),
    )
    rows = []
    for item in items.select_related("shelf").order_by("pk"):
        last = item.last_used
        since = last or item.last_came
        if since and on - since > SLOW_AFTER:
            rows.append(IdleItem(item, item.shelf.on_hand, item.shelf.value, last, on - since > DEAD_AFTER))
    return sorted(rows, key=lambda row: -row.value)
