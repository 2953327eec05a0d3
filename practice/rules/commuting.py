"""Drives from and to home, and the first and last of a day: commuting or business. Pure."""

from collections.abc import Sequence
from typing import Protocol, TypeVar

from practice.lib.countries import Country
from practice.rules.routing import is_home

BUSINESS = "business"


class DriveOfADay(Protocol):
    """A drive as it is written down."""

    purpose: str
    reason: str
    origin: str
    destination: str


Drive = TypeVar("Drive", bound=DriveOfADay)


def not_principal(country: Country) -> str:
    """Return what holds where the home is not the principal place of business, and who decides."""
    return (
        "Your home is not your principal place of business, so a drive from or to it, and the first and the"
        " last drive of a day, count as commuting unless you give a reason why not"
        f"{country.home_cited}. A licensed tax preparer decides."
    )


def without_reason(drives: Sequence[Drive]) -> list[Drive]:
    """Return the business drives of a vehicle's day that need a reason there, and have none.

    They are the first, the last, and those from or to home; `drives` stand in driving order.
    """
    ends = (0, len(drives) - 1)
    return [
        drive
        for number, drive in enumerate(drives)
        if drive.purpose == BUSINESS
        and not drive.reason
        and (number in ends or is_home(drive.origin) or is_home(drive.destination))
    ]
