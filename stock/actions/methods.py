"""How stock is valued, from a day on."""

from datetime import date

from django.db import transaction

from practice.lib.choices import ValuationMethod
from practice.lib.errors import RuleBroken
from practice.lib.profile import Profile
from stock.actions.valuing import method_changes, value_from
from stock.models import ValuationChange
from stock.rules.facts import method_on


def method_of(on: date) -> str:
    """Return the method by which stock is costed on a day: `moving_average` or `fifo`."""
    return method_on(on, Profile.current().valuation, method_changes())


@transaction.atomic
def change_method(on: date, method: str) -> ValuationChange:
    """Cost stock by another method from a day on; whatever was costed before that day stays as it is.

    Raises RuleBroken("day_closed"), ("method_changes_on_day") where it changes on that day already, and
    ("method_holds_already").
    """
    profile = Profile.locked()
    profile.check_open(on)
    if ValuationChange.objects.filter(valid_from=on).exists():
        raise RuleBroken(
            "method_changes_on_day",
            f"The method already changes on {on.isoformat()}. Undo that change first, or choose another day.",
        )
    if method_of(on) == method:
        label = ValuationMethod(method).label.lower()
        raise RuleBroken(
            "method_holds_already",
            f"Stock is already valued by {label} on {on.isoformat()}. Choose the other method.",
        )
    change = ValuationChange.objects.create(valid_from=on, method=method)
    value_from(on)
    return change


@transaction.atomic
def undo_change(change: ValuationChange) -> None:
    """Remove a change of method. Raises RuleBroken("day_closed") where its day is closed for good."""
    Profile.locked().check_open(change.valid_from)
    on = change.valid_from
    change.delete()
    value_from(on)
