"""Loading a truck for a day."""

from collections.abc import Collection
from datetime import date

from django.db import transaction

from practice.lib.errors import RuleBroken
from practice.lib.profile import Profile
from practice.reports.load_list import load_list
from stock.actions.movements import transfer_item


@transaction.atomic
def take_along(on: date, today: date, ticked: Collection[str]) -> int:
    """Move what a day's load list takes from the shop onto its trucks, dated today; return how many items.

    `ticked` names the rows, `VEHICLE-ITEM`. What is on the truck already is not taken twice. Raises
    RuleBroken where none of them has to come from the shop (any more).
    """
    # Whoever presses at the same time waits here, and then finds it on the truck.
    Profile.locked()
    moved = 0
    for load in load_list(on, today):
        for row in load.to_take:
            if f"{load.key}-{row.item.pk}" not in ticked:
                continue
            for shop, quantity in row.from_shops:
                transfer_item(
                    row.item,
                    quantity,
                    on=today,
                    location=shop,
                    to_location=load.truck,
                    note=f"loaded for {on.isoformat()}",
                )
            moved += 1
    if not moved:
        raise RuleBroken("already_loaded", "Nothing was moved: what you checked is on the truck already.")
    return moved
