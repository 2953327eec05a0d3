"""The kinds of message: what each says, to whom it goes, and which papers go with it.

Another kind is a subclass of `MessageKind` and its place in `KINDS` (`billing/papers/all_kinds.py`).
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, ClassVar

from django.conf import settings

from billing.models import MessageText, SharedLink
from billing.rules.wording import fill
from practice.lib.mail import Enclosure, is_address, one_line
from practice.lib.profile import Profile

# Stands in a text until it is sent: only then is a link made. Blank where clients cannot reach the book.
LINK, LINK_NAME = "{link}", "link"
LINK_EXAMPLE = {LINK_NAME: "https://book.garrow.example/shared/…"}


def link_to_come() -> dict[str, str]:
    """Return what stands in place of `{link}` before a message is sent."""
    return {LINK_NAME: LINK if settings.PUBLIC_ADDRESS else ""}


@dataclass(frozen=True)
class Recipient:
    """Who gets a message; `url` is their page, `change_url` where their address and phone are entered."""

    name: str
    email: str
    phone: str
    url: str
    change_url: str

    @property
    def has_address(self) -> bool:
        """Whether mail can be sent: an address is known, and is one."""
        return is_address(self.email)


@dataclass(frozen=True)
class Wording:
    """A subject and a text; `days`: of a reminder, how long after the due date it is proposed."""

    subject: str
    text: str
    days: int | None = None


class MessageKind:
    """A kind of message about one thing of the book.

    `code` names it in the book, `name` on pages. `placeholders` are the words that its texts may hold in
    braces, each with an example for the preview; `wording` is what it says where the practice wrote nothing
    of its own.
    """

    code: ClassVar[str]
    name: ClassVar[str]
    placeholders: ClassVar[Mapping[str, str]]
    wording: ClassVar[Wording]

    def about(self, thing: Any) -> str:
        """Return the key of a thing, as the book's files write it."""
        raise NotImplementedError

    def find(self, about: str) -> Any | None:
        """Return the thing with this key; None where the book no longer has it."""
        raise NotImplementedError

    def named(self, about: str, profile: Profile) -> str:
        """Return what pages call the thing with this key: `Invoice GF-2026-0187`."""
        return f"{self.name} {about}"

    def address(self, thing: Any) -> str:
        """Return the address of the thing's page."""
        return thing.get_absolute_url()

    def recipient(self, thing: Any) -> Recipient:
        raise NotImplementedError

    def values(self, thing: Any, profile: Profile) -> dict[str, str]:
        """Return what stands in place of each placeholder."""
        raise NotImplementedError

    def enclosures(self, thing: Any) -> list[Enclosure]:
        """Make the papers that go with it, at the moment it is sent. Raises PdfUnavailable."""
        return []

    def enclosed(self, thing: Any) -> list[str]:
        """Return the file names of the papers, without making them."""
        return []

    def short(self, thing: Any, profile: Profile) -> str:
        """Return a text for the phone's messenger; blank where this kind is not told that way."""
        return ""

    def share(self, thing: Any, now: datetime) -> SharedLink | None:
        """Make a link to the thing for its recipient; None where this kind has none."""
        return None

    def examples(self) -> dict[str, str]:
        """Return the placeholders that can be used here and now, each with its example."""
        known = dict(self.placeholders)
        if not settings.PUBLIC_ADDRESS:
            known.pop(LINK_NAME, None)
        return known

    def why_not(self, thing: Any) -> str:
        """Say why a message that waited is no longer true and stays here; blank where it is."""
        return ""

    def own_wording(self) -> Wording:
        """Return what the practice wrote, else what the program proposes."""
        row = MessageText.objects.filter(kind=self.code).first()
        return Wording(row.subject, row.text, row.days) if row else self.wording

    def worded(self, thing: Any, profile: Profile) -> Wording:
        """Return subject and text of a message about a thing, filled in."""
        own, values = self.own_wording(), self.values(thing, profile)
        return Wording(one_line(fill(own.subject, values))[:300], fill(own.text, values))
