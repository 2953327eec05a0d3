"""Shared links: their addresses, which of them open, and what the practice reads about them."""

from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from django.conf import settings
from django.core.signing import BadSignature, Signer
from django.http import HttpRequest
from django.urls import reverse
from django.utils.timezone import localtime

from billing.models import SharedLink
from practice.lib.formats import medium_date, stamp
from practice.lib.list_rows import ListRow
from practice.lib.profile import Profile

# The signature is made with the key in the data folder, which is in no backup: HMAC-SHA256.
signer = Signer(sep=".", salt="shared link")


def token_of(link: SharedLink) -> str:
    """Return what the address of a link holds: its UUID and the signature."""
    return signer.sign(link.uuid.hex)


def link_with(token: str, on: date) -> SharedLink | None:
    """Return the link of an address that opens on a day; None if altered, unknown, expired, or ended."""
    try:
        uuid = UUID(signer.unsign(token))
    except (BadSignature, ValueError):
        return None
    return SharedLink.objects.working(on).for_detail().filter(uuid=uuid).first()


def note_opening(link: SharedLink, now: datetime) -> None:
    """Remember when a link was last opened."""
    SharedLink.objects.filter(pk=link.pk).update(opened_at=now)


def address_of(link: SharedLink, request: HttpRequest) -> str:
    """Return the whole address of a link: at the practice's own host where it has one."""
    address = public_address_of(link)
    return address if settings.PUBLIC_ADDRESS else request.build_absolute_uri(address)


def public_address_of(link: SharedLink) -> str:
    """Return the address of a link at the practice's own host, its path alone where there is none."""
    return settings.PUBLIC_ADDRESS + reverse("billing:shared", args=[token_of(link)])


@dataclass(frozen=True)
class LinkPage:
    """A link as the practice sees it."""

    link: SharedLink
    address: str
    on: date
    profile: Profile

    @property
    def works(self) -> bool:
        return self.link.ended_at is None and self.link.expires_on >= self.on

    @property
    def heading(self) -> str:
        """What it shows, and until when it opens: `Invoice GF-2026-0187, until Nov 13, 2026.`"""
        last = medium_date(self.link.expires_on, self.profile.locale)
        if self.link.ended_at:
            return f"{self.thing}: ended."
        return f"{self.thing}, until {last}." if self.works else f"{self.thing}: expired after {last}."

    @property
    def thing(self) -> str:
        return f"Invoice {self.link.invoice}" if self.link.invoice else f"Statement for {self.link.client}"

    @property
    def thing_url(self) -> str:
        link = self.link
        if link.invoice:
            return link.invoice.get_absolute_url()
        page = reverse("billing:statement", args=[link.client_id])
        return f"{page}?begin={link.begin.isoformat()}&end={link.end.isoformat()}"

    @property
    def opened(self) -> str:
        """When it was last opened: `Not opened yet.`"""
        if self.link.opened_at is None:
            return "Not opened yet."
        return f"Last opened {stamp(localtime(self.link.opened_at), self.profile.locale)}."

    @property
    def is_public(self) -> bool:
        """Whether others than this machine reach the address."""
        return bool(settings.PUBLIC_ADDRESS)

    @property
    def row(self) -> ListRow:
        """Return it as a row of the links of a thing."""
        last = medium_date(self.link.expires_on, self.profile.locale)
        state = "ended" if self.link.ended_at else "works" if self.works else "expired"
        return ListRow(self.link.get_absolute_url(), f"Until {last}", more=self.opened, fact=state)


def link_rows(links, profile: Profile, on: date) -> list[ListRow]:
    """Return the links of a thing as rows, the latest first."""
    return [LinkPage(link, "", on, profile).row for link in links]
