"""What the shelf was worth at both ends of a period, and what came and went between."""

from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal

from django.db.models import Sum

from practice.lib.fields import ExactField
from practice.lib.periods import Period
from stock.models import Item, MovementKind, Purchase, Valuation
from stock.reports.levels import levels

ZERO = Decimal(0)


@dataclass(frozen=True)
class Flow:
    """The value of the shelf through a period, to four decimals, all items together.

    `opening` is what the book held the day before; `opened` what opening counts within the period
    put on the shelf. `received` is before `sent_back` to suppliers; `counted` is what the other
    counts added, below zero removed. `paid` are deliveries by the day on which they were paid, whenever
    they came; `paid_unknown` those received in the period for which that day is not known.
    """

    opening: Decimal
    opened: Decimal
    received: Decimal
    sent_back: Decimal
    withdrawn: Decimal
    counted: Decimal
    closing: Decimal
    paid: Decimal
    paid_unknown: Decimal


def flow_in(period: Period) -> Flow:
    """Return how the value of the shelf flowed; reads the period and each item's last row before it."""
    costs = _costs(period)
    opened = _opening_counts(period)
    receipts = Valuation.objects.filter(kind="receipt", movement__kind=MovementKind.RECEIPT)
    paid = receipts.filter(
        movement__in=Purchase.objects.filter(
            paid_on__gte=period.begin, paid_on__lte=period.end, movement__reversal__isnull=True
        ).values("movement")
    )
    paid_unknown = _within(receipts, period).filter(
        movement__purchase__paid_on__isnull=True, movement__reversal__isnull=True
    )
    return Flow(
        opening=_worth(period.begin - timedelta(1)),
        opened=opened,
        received=costs.get(MovementKind.RECEIPT, ZERO),
        sent_back=-costs.get(MovementKind.SUPPLIER_RETURN, ZERO),
        withdrawn=-costs.get(MovementKind.WITHDRAWAL, ZERO),
        counted=costs.get(MovementKind.COUNT, ZERO) - opened,
        closing=_worth(period.end),
        paid=_sum(paid),
        paid_unknown=_sum(paid_unknown),
    )


def _worth(on) -> Decimal:
    return sum((level.value for level in levels(on).values()), ZERO)


def _within(rows, period: Period):
    """Return rows of the ledger of some days; naming the items lets the index of facts be used."""
    return rows.filter(
        movement__item__in=Item.objects.values("pk"),
        movement__date__gte=period.begin,
        movement__date__lte=period.end,
    )


def _sum(rows) -> Decimal:
    return rows.aggregate(sum=Sum("cost", output_field=ExactField()))["sum"] or ZERO


def _costs(period: Period) -> dict[str, Decimal]:
    """Return what facts cost, with their sign, by kind; a late reversal counts as the kind it undoes.

    Corrections, which move value into use, are left out.
    """
    kinds = [
        MovementKind.RECEIPT,
        MovementKind.SUPPLIER_RETURN,
        MovementKind.WITHDRAWAL,
        MovementKind.COUNT,
        MovementKind.REVERSAL,
    ]
    rows = _within(Valuation.objects.filter(movement__kind__in=kinds).exclude(kind="correction"), period)
    grouped = rows.values_list("movement__kind", "movement__reverses__kind").annotate(
        sum=Sum("cost", output_field=ExactField())
    )
    costs: dict[str, Decimal] = {}
    for kind, reversed_kind, cost in grouped.order_by():
        costs[reversed_kind or kind] = costs.get(reversed_kind or kind, ZERO) + cost
    return costs


def _opening_counts(period: Period) -> Decimal:
    """Return what opening stock was worth where it was counted within the period.

    A count before any other fact of its item is opening stock, and so are the others of that day.
    """
    counts = _within(Valuation.objects.filter(kind="count", movement__kind=MovementKind.COUNT), period)
    first = counts.filter(item__in=Item.objects.values("pk"), position=0)
    days = dict(first.values_list("item", "movement__date"))
    if not days:
        return ZERO
    rows = counts.filter(item__in=days, movement__date__in=set(days.values()))
    costs = rows.values_list("item", "movement__date", "cost")
    return sum((cost for item, day, cost in costs if days[item] == day), ZERO)
