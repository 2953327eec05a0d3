"""The pages of a horse, a client and a place: what each says, row by row."""

from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from functools import cached_property

from django.utils.text import capfirst

from practice.lib import formats
from practice.lib.list_rows import ListRow
from practice.lib.profile import Profile
from practice.models import Client, Horse, Owner, Place, Visit
from practice.reports.due import DueHorse, due_horses, horses_in_words
from practice.reports.foot_history import FeetHistory, feet_history
from practice.reports.history import past_visits, visits_with
from practice.reports.horse_history import HorseHistory, history_of
from practice.reports.miles import YearMiles, miles_by_year, visits_of_client, visits_of_horse
from practice.reports.reaching import directions_to, mail_link, map_link, tel_link
from practice.reports.working_time import in_words, last_services, planned_times

VISITS_SHOWN = 12

# What became of a horse that is not in one's care, or not now.
GONE = {
    Horse.Status.AWAY: "is away",
    Horse.Status.RETIRED: "is retired",
    Horse.Status.SOLD: "was sold",
    Horse.Status.DIED: "died",
}


@dataclass(frozen=True)
class ClientRecord:
    """What the page of a client shows, but for the account, which is billing's."""

    client: Client
    horses: list[DueHorse]
    years: list[YearMiles]
    on: date

    @property
    def reached(self) -> list[tuple[str, str, str]]:
        """Each way to reach the client: its name, as it was typed, and what a phone opens for it."""
        client = self.client
        ways = [
            ("Phone", client.phone, tel_link(client.phone)),
            ("Email", client.email, mail_link(client.email)),
            ("Address", client.address, map_link(client.address)),
        ]
        return [way for way in ways if way[1]]


def client_record(client: Client, on: date, profile: Profile) -> ClientRecord:
    """Return what a client's page shows on a day: horses in which they have a share then, and miles."""
    owned = Horse.objects.filter(pk__in=client.shares.on(on).values("horse"))
    years = miles_by_year(visits_of_client(client), on, profile)
    return ClientRecord(client, due_horses(owned), years, on)


@dataclass(frozen=True)
class PlaceRecord:
    """What the page of a place shows: active horses, and visits `coming`, soonest first, and `past`."""

    place: Place
    horses: list[DueHorse]
    coming: list[Visit]
    past: list[Visit]
    visit_count: int
    years: list[YearMiles]
    on: date
    profile: Profile

    @property
    def has_more_visits(self) -> bool:
        return self.visit_count > len(self.coming) + len(self.past)

    @property
    def answer(self) -> str:
        return f"{self.place}: {horses_in_words(self.horses, self.on)}."

    @property
    def reached(self) -> list[tuple[str, str, str]]:
        """Each way to get there: what it is, as it was typed, and what a phone opens for it."""
        place, directions = self.place, directions_to(self.place)
        ways = [
            ("Address", place.address or (directions and "On the map"), directions),
            ("Phone", place.phone, tel_link(place.phone)),
            ("Gate code", place.gate_code, ""),
        ]
        return [way for way in ways if way[1]]

    @property
    def visits(self) -> list[ListRow]:
        planned = [self._row(visit, "planned") for visit in self.coming]
        return planned + [self._row(visit, "done") for visit in self.past]

    def _row(self, visit: Visit, note: str) -> ListRow:
        day = formats.short_date(visit.date, self.profile.locale, self.on)
        return ListRow(visit.get_absolute_url(), day, note=note)


def place_record(place: Place, on: date, profile: Profile) -> PlaceRecord:
    """Return what a place's page shows on a day: the next five visits planned, and the last ones done."""
    return PlaceRecord(
        place,
        due_horses(place.horses.active()),
        list(place.visits.planned().filter(date__gte=on).order_by("date", "pk")[:5]),
        list(place.visits.done().order_by("-date", "-pk")[:VISITS_SHOWN]),
        place.visits.count(),
        miles_by_year(place.visits.all(), on, profile),
        on,
        profile,
    )


@dataclass(frozen=True)
class HorseRecord:
    """What the page of a horse shows; of its history the last visits of `visit_count`."""

    without_owner = (
        "No owner yet. Work on this horse cannot be billed until it has one, or someone else pays."
    )

    horse: Horse
    due: DueHorse
    shares: list[Owner]
    history: HorseHistory
    visit_count: int
    feet: FeetHistory
    years: list[YearMiles]
    on: date
    profile: Profile

    @property
    def answer(self) -> str:
        if self.due.gone:
            return f"{self.horse} {GONE[self.horse.status]}."
        if self.due.due is None:
            return f"{self.horse}: new, no shoeing yet."
        if self.due.is_overdue(self.on):
            return f"{self.horse}: {formats.days_over(self.due.days_over(self.on))}."
        return (
            f"{self.horse}: due {formats.short_date(self.due.due, self.profile.locale, self.profile.today)}."
        )

    @property
    def can_be_planned(self) -> bool:
        return self.horse.place is not None and not self.due.gone

    @property
    def description(self) -> str:
        """Breed and year of birth, as far as they are known."""
        born = f"born {self.horse.born}" if self.horse.born else ""
        return ", ".join(filter(None, [self.horse.breed, born])) if self.horse.breed else born.capitalize()

    @cached_property
    def time(self) -> str:
        """How long it will take, and what that rests on; blank where nothing says so."""
        if self.due.gone or self.due.last is None or self.due.is_elsewhere:
            return ""
        known = planned_times(last_services({self.horse.pk: self.due.last})).get(self.horse.pk)
        return f"{capfirst(in_words(known.minutes))} ({known.basis.value})." if known else ""

    @property
    def cost_of_year(self) -> Decimal:
        """What the materials of the last 365 days cost, of the visits shown."""
        begin = self.on - timedelta(days=365)
        recent = [row.visit.pk for row in self.history.visits if row.date > begin]
        return sum((self.history.costs.get(key, Decimal(0)) for key in recent), Decimal(0))

    @property
    def has_more_visits(self) -> bool:
        return self.visit_count > len(self.history.visits)

    @property
    def owners(self) -> list[ListRow]:
        """Who owns it on that day, and who will."""
        return [self._owner(share) for share in self.shares if not self._is_over(share)]

    @property
    def earlier_owners(self) -> list[ListRow]:
        """Who owned it before, the latest first."""
        over = [share for share in self.shares if self._is_over(share)]
        return [self._owner(share) for share in sorted(over, key=lambda share: share.valid_to, reverse=True)]

    def _is_over(self, share: Owner) -> bool:
        return share.valid_to is not None and share.valid_to < self.on

    def _owner(self, share: Owner) -> ListRow:
        return ListRow(
            share.client.get_absolute_url(),
            share.client.name,
            more=formats.from_to(share.valid_from, share.valid_to, self.profile.locale),
            fact=formats.percent(share.share, self.profile.locale),
        )


def horse_record(horse: Horse, on: date, profile: Profile) -> HorseRecord:
    """Return what a horse's page shows on a day."""
    [due] = due_horses(Horse.objects.filter(pk=horse.pk))
    return HorseRecord(
        horse,
        due,
        list(horse.owners.select_related("client").order_by("valid_from", "pk")),
        history_of(horse, past_visits(horse, limit=VISITS_SHOWN), profile),
        visits_with(horse).count(),
        feet_history(horse, profile),
        miles_by_year(visits_of_horse(horse), on, profile),
        on,
        profile,
    )
