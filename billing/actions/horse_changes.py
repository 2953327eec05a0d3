"""What may become of a horse on a day, and what speaks against it."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta

from django.db.models import Q, QuerySet

from practice.lib.errors import RuleBroken
from practice.models import Client, Horse, LifeEvent, Place, Visit

Kind = LifeEvent.Kind
STATUS = {
    Kind.AWAY: Horse.Status.AWAY,
    Kind.RETIRED: Horse.Status.RETIRED,
    Kind.DIED: Horse.Status.DIED,
}


@dataclass(frozen=True)
class HorseChange:
    """What becomes of a horse on a day.

    Sold: to `buyer` (None: to someone who is not a client) by `seller` (None: by all owners). `place` is
    where it stands from then on, None: where it did. `stops` says by key what becomes of each planned stop.
    """

    kind: str
    on: date
    buyer: Client | None = None
    seller: Client | None = None
    place: Place | None = None
    keeps_payers: bool = False
    note: str = ""
    stops: Mapping[int, str] = field(default_factory=dict)

    @property
    def last_day(self) -> date:
        """The last day on which all is as it was: a buyer owns the horse from the day of the sale on."""
        return self.on - timedelta(days=1) if self.buyer else self.on

    @property
    def is_whole_sale(self) -> bool:
        return self.kind == Kind.SOLD and self.seller is None

    @property
    def status(self) -> str | None:
        """The horse's status from then on; None: it stays, but that one sold before is active again."""
        if self.kind == Kind.SOLD:
            return None if self.buyer else Horse.Status.SOLD
        return STATUS.get(self.kind)


@dataclass(frozen=True)
class Recording:
    """By whom and when something is recorded, and on what day."""

    by: str
    at: datetime
    today: date


def check_change(horse: Horse, change: HorseChange) -> None:
    """Raise RuleBroken where this cannot become of the horse.

    Codes: `horse_died`, `already_so`, `same_place`, `share_needs_client`, `not_an_owner`, `owns_it_already`,
    `owners_change_later`, `done_since`, `invoiced_since`.
    """
    _check_status(horse, change)
    if change.kind == Kind.SOLD:
        _check_sale(horse, change)
    if change.kind in (Kind.SOLD, Kind.DIED):
        _check_later_owners(horse, change.on)
    if change.kind != Kind.MOVED:
        _check_work(horse, change)


def check_alive(horse: Horse) -> None:
    if horse.status == Horse.Status.DIED:
        raise RuleBroken(
            "horse_died", f"The book says that {horse} died. If that is wrong, change its status first."
        )


def _check_status(horse: Horse, change: HorseChange) -> None:
    check_alive(horse)
    if change.kind == Kind.MOVED and change.place == horse.place:
        raise RuleBroken("same_place", f"{horse} is already at {horse.place}. Choose another place.")
    if change.status == horse.status:
        status = horse.get_status_display().lower()
        raise RuleBroken("already_so", f"{horse} is already recorded as {status}.")


def _check_sale(horse: Horse, change: HorseChange) -> None:
    owners = list(horse.owners.on(change.on).select_related("client"))
    clients = {owner.client for owner in owners}
    if change.seller and not change.buyer:
        raise RuleBroken(
            "share_needs_client",
            "A share can only be sold to a client, because shares must add up to 100. Choose who buys it, or"
            " record that all owners sold.",
        )
    if change.seller and change.seller not in clients:
        raise RuleBroken(
            "not_an_owner", f"{change.seller} owns no share of {horse} on {change.on.isoformat()}."
        )
    if change.buyer and (clients == {change.buyer} or change.seller == change.buyer):
        raise RuleBroken("owns_it_already", f"{change.buyer} owns it already. Choose someone else.")


def _check_later_owners(horse: Horse, on: date) -> None:
    later = horse.owners.filter(valid_from__gt=on).order_by("valid_from").first()
    if later:
        raise RuleBroken(
            "owners_change_later",
            f"The owners of {horse} change on {later.valid_from.isoformat()}, after that day. Choose that day"
            " or a later one, or use Change owners.",
        )


def visits_naming(horse: Horse) -> QuerySet[Visit]:
    """Return the visits at which the horse has work or materials."""
    return Visit.objects.filter(Q(work__horse=horse) | Q(materials__horse=horse)).distinct()


def fixed_since(horse: Horse, since: date) -> QuerySet[Visit]:
    """Return the visits of the horse from a day on that are invoiced, or were billed before."""
    return visits_naming(horse).filter(Q(locked=True) | Q(billed=True), date__gte=since)


def _check_work(horse: Horse, change: HorseChange) -> None:
    first = change.last_day + timedelta(days=1)
    done = visits_naming(horse).filter(status=Visit.Status.DONE, date__gte=first).select_related("place")
    if not change.buyer and (visit := done.order_by("-date", "-pk").first()):
        raise RuleBroken(
            "done_since",
            f"{horse} was done at {visit.place} on {visit.date.isoformat()}. Choose that day or a later one.",
        )
    fixed = fixed_since(horse, first).select_related("place")
    if visit := fixed.order_by("-date", "-pk").first():
        raise RuleBroken(
            "invoiced_since",
            f"The work on {horse} at {visit.place} on {visit.date.isoformat()} is already invoiced. Choose a"
            " later day, or credit that invoice first.",
        )


def check_elsewhere(horse: Horse, on: date) -> None:
    """Raise RuleBroken("done_since") where the horse was done on that day or later by oneself."""
    check_alive(horse)
    own = Visit.objects.done().filter(date__gte=on, work__horse=horse, work__service__resets_cycle=True)
    if visit := own.select_related("place").order_by("-date", "-pk").first():
        raise RuleBroken(
            "done_since",
            f"You did {horse} yourself at {visit.place} on {visit.date.isoformat()}. Choose a later day.",
        )
