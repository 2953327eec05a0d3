"""What became of a horse or a client, as its page says it."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from practice.lib import formats
from practice.lib.profile import Profile
from practice.models import Client, Horse, LifeEvent

Kind = LifeEvent.Kind
# What horses in one's care, or away for a while, can still become.
STILL_HERE = (Horse.Status.ACTIVE, Horse.Status.AWAY, Horse.Status.RETIRED)


@dataclass(frozen=True)
class LifeLine:
    """One event in words; `undo` is its key while it can be undone."""

    text: str
    note: str
    undo: int | None


@dataclass(frozen=True)
class Life:
    """What the page of a horse or client says of its events, the latest first.

    `can_change`: whether anything more can become of it.
    """

    lines: list[LifeLine]
    can_change: bool


def life_of_horse(horse: Horse, on: date, profile: Profile) -> Life:
    """Return what became of a horse; its owners may have left since."""
    return Life(lines(horse.events.for_list(), on, profile), horse.status in STILL_HERE)


def life_of_client(client: Client, on: date, profile: Profile) -> Life:
    """Return whether and when a client left."""
    left = client.events.for_list().filter(kind=Kind.LEFT)
    return Life(lines(left, on, profile), not client.archived)


def lines(events: Iterable[LifeEvent], on: date, profile: Profile) -> list[LifeLine]:
    return [
        LifeLine(in_words(event, profile.locale), event.note, event.pk if event.can_be_undone(on) else None)
        for event in events
    ]


def in_words(event: LifeEvent, locale: str) -> str:
    """Return `Sold to Ben on Oct 14, 2026.`"""
    words = {
        Kind.SOLD: f"Sold to {event.client or 'someone who is not a client'}",
        Kind.MOVED: f"Moved to {event.place}" if event.place else "Moved",
        Kind.AWAY: "Away since",
        Kind.RETIRED: "Retired",
        Kind.DIED: "Died",
        Kind.ELSEWHERE: "Done by someone else",
        Kind.LEFT: "Left",
    }[event.kind]
    joint = " " if event.kind == Kind.AWAY else " on "
    return f"{words}{joint}{formats.medium_date(event.date, locale)}."
