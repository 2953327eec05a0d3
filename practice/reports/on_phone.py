"""A stop and a horse that are on a phone and not in the book yet: what their pages are made for.

A phone keeps these pages once and shows each with its own names: js/worker.js puts them where the signs are.
"""

from practice.lib.addresses import NOT_IN_BOOK
from practice.lib.today import today
from practice.models import Horse, Place, Visit

PLACE_SIGN, HORSE_SIGN = "~place", "~horse"


def stop_on_phone() -> Visit:
    """Return a stop that was planned on a phone, with its place, which may be a new one."""
    return Visit(pk=NOT_IN_BOOK, date=today(), place=Place(pk=NOT_IN_BOOK, name=PLACE_SIGN))


def horse_on_phone(visit: Visit) -> Horse:
    """Return a horse that was added on a phone at a stop."""
    return Horse(pk=NOT_IN_BOOK, name=HORSE_SIGN, place=visit.place)
