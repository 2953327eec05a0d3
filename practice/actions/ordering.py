"""Ordering what is suggested."""

from collections.abc import Collection
from datetime import date

from django.db import transaction

from practice.lib.errors import RuleBroken
from practice.lib.profile import Profile
from practice.reports.planner import to_order_on
from stock.actions.purchasing import order_suggestions
from stock.models import Order


@transaction.atomic
def order_suggested(items: Collection[int], on: date) -> list[Order]:
    """Order what is still suggested of these items, one order a supplier; returns the orders.

    Once it is on order nothing more is suggested, so pressed twice nothing is ordered twice. Raises
    RuleBroken where none of the items is suggested (any more), and as `place_order`.
    """
    # Whoever presses at the same time waits here, and then finds it on order.
    Profile.locked()
    rows = [(row.item, row.packs) for row in to_order_on(on) if row.item.pk in items]
    if not rows:
        raise RuleBroken(
            "nothing_to_order", "Nothing was ordered: check at least one item that is not on order yet."
        )
    return order_suggestions(rows, on)
