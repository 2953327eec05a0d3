"""How phones reach this book just now, as the pages say it."""

from dataclasses import dataclass
from datetime import datetime
from urllib.parse import urlencode, urlsplit

from django.conf import settings
from django.urls import reverse

from practice.project.serving.addresses import phone_addresses


@dataclass(frozen=True)
class Reach:
    """Where phones reach the book: `name` stays, `addresses` stand in where a phone does not find a name.

    `fingerprint` is that of the practice's own authority; blank where phones trust the server already.
    """

    name: str
    addresses: tuple[str, ...] = ()
    fingerprint: str = ""

    def chosen(self, by_address: bool) -> "PairingAddress":
        """Return the pages of pairing under the name, or under the first address."""
        return PairingAddress(self.addresses[0] if by_address and self.addresses else self.name)


@dataclass(frozen=True)
class PairingAddress:
    """The pages of pairing under one address of the book, and that address as a person types it."""

    base: str

    @property
    def host(self) -> str:
        return urlsplit(self.base).netloc

    @property
    def trust(self) -> str:
        return self.base + reverse("phone-trust")

    @property
    def pair(self) -> str:
        return self.base + reverse("phone-pair")

    def pair_with(self, code: str) -> str:
        """Return the address that brings the code along; it is asked for over https alone."""
        return f"{self.pair}?{urlencode({'pairing_code': code})}"


def how_phones_reach(now: datetime) -> Reach | None:
    """Return how phones reach the book; None while they do not."""
    if settings.PUBLIC_ADDRESS:
        return Reach(settings.PUBLIC_ADDRESS)
    from practice.project.serving.authority import practice_authority

    found = [address.rstrip("/") for address in phone_addresses()]
    if not found:
        return None
    return Reach(found[0], tuple(found[1:]), practice_authority(now).fingerprint())
