"""How to get to a place and whom to call about it, as addresses that a phone opens."""

import re
from datetime import date
from urllib.parse import quote

from practice.lib.plain import plain
from practice.models import Client, Owner, Place


def directions_to(place: Place) -> str:
    """Return the `geo:` address (RFC 5870) of a place, by its coordinates, else by its postal address.

    Blank where neither is known.
    """
    if None not in (place.latitude, place.longitude):
        return f"geo:{plain(place.latitude)},{plain(place.longitude)}"
    return map_link(place.address)


def map_link(address: str) -> str:
    """Return the `geo:` address of a postal one, as phones look it up; blank where there is none."""
    words = " ".join(address.split())
    return f"geo:0,0?q={quote(words, safe='')}" if words else ""


def mail_link(email: str) -> str:
    """Return the `mailto:` address (RFC 6068) of an email address; blank where there is none."""
    return f"mailto:{quote(email, safe='@')}" if email else ""


def tel_link(phone: str) -> str:
    """Return the `tel:` address (RFC 3966) of a number as it was typed; blank where it has no digit."""
    digits = re.sub(r"[^0-9]", "", phone)
    return f"tel:{'+' * phone.strip().startswith('+')}{digits}" if digits else ""


def clients_to_call(place: Place, on: date) -> list[tuple[Place | Client, str]]:
    """Return the place and the owners of its horses on a day that have a phone, each with the `tel:` link."""
    owners = Owner.objects.on(on).filter(horse__place=place, horse__status="active")
    clients = Client.objects.filter(pk__in=owners.values("client"), archived=False).order_by("name", "pk")
    links = [(each, tel_link(each.phone)) for each in (place, *clients)]
    return [(each, link) for each, link in links if link]
