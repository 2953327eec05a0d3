"""How the shelf is costed, from a day on."""

from datetime import date

from django.db import transaction

from practice.lib.choices import ValuationMethod
from practice.lib.errors import RuleBroken
from practice.lib.profile import Profile
from stock.actions.valuing import method_changes, value_from
from stock.models import ValuationChange
from stock.rules.facts import method_on


def method_of(on: date) -> str:
    """Return the method by which the shelf is costed on a day."""
    return method_on(on, Profile.current().valuation, method_changes())


@transaction.atomic
def change_method(on: date, method: str) -> ValuationChange:
    """Cost the shelf by another method from a day on; what was costed before that day stays as it is.

    Raises RuleBroken for a day closed for good, and where that method holds on that day already.
    """
    profile = Profile.locked()
    profile.check_open(on)
    if ValuationChange.objects.filter(valid_from=on).exists():
        raise RuleBroken(f"The method changes on {on.isoformat()} already. Take that change back first.")
    if method_of(on) == method:
        label = ValuationMethod(method).label.lower()
        raise RuleBroken(f"On {on.isoformat()} the shelf is costed by that already: {label}.")
    change = ValuationChange.objects.create(valid_from=on, method=method)
    value_from(on)
    return change


@transaction.atomic
def take_back_change(change: ValuationChange) -> None:
    """Leave a change of method out again. Raises RuleBroken where its day is closed for good."""
    Profile.locked().check_open(change.valid_from)
    on = change.valid_from
    change.delete()
    value_from(on)
