"""What follows when a horse is sold, moved and so on, or a client leaves: in words, before it is recorded."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from django.db import transaction
from django.db.models import Prefetch

from billing.actions.horse_changes import HorseChange, Kind, Recording, visits_naming
from billing.actions.leaving import Leaving, client_leaves, horses_in_care
from billing.actions.life_events import record_change
from billing.actions.settling import credit_left
from billing.models import BillTo, Invoice, Price
from practice.lib import formats
from practice.lib.profile import Profile
from practice.models import Client, Horse, Owner, Visit
from practice.reports.planned_stops import CANCEL, OFF, PlannedStop, planned_stops


@dataclass(frozen=True)
class HorseAsItStands:
    """A horse with its owners and payers, to compare before and after."""

    horse: Horse
    owners: list[Owner]
    payers: dict[int, BillTo]

    @classmethod
    def of_all(cls, keys: Iterable[int]) -> dict[int, "HorseAsItStands"]:
        """Return these horses by key, in order of their names."""
        horses = Horse.objects.filter(pk__in=list(keys)).select_related("place").order_by("name", "pk")
        rows = horses.prefetch_related(
            Prefetch("owners", Owner.objects.select_related("client").order_by("pk")),
            Prefetch("bill_to", BillTo.objects.select_related("client").order_by("pk")),
        )
        return {
            horse.pk: cls(horse, list(horse.owners.all()), {row.pk: row for row in horse.bill_to.all()})
            for horse in rows
        }

    @classmethod
    def of(cls, key: int) -> "HorseAsItStands":
        return cls.of_all([key])[key]

    def owners_on(self, day: date) -> list[Owner]:
        return [row for row in self.owners if row.holds_on(day)]


def preview_change(horse: Horse, change: HorseChange, recording: Recording, profile: Profile) -> list[str]:
    """Return what would follow, a sentence each: it is recorded, looked at, and taken back.

    Raises as recording does.
    """
    with transaction.atomic():
        stops = planned_stops([horse], recording.today)
        before = HorseAsItStands.of(horse.pk)
        record_change(horse, change, recording)
        after = HorseAsItStands.of(horse.pk)
        words = [*ChangeInWords(before, after, change, profile).sentences()]
        words += stops_in_words(stops, change.stops, profile)
        transaction.set_rollback(True)
    return words


@dataclass(frozen=True)
class ChangeInWords:
    """What a change of a horse did, in sentences."""

    before: HorseAsItStands
    after: HorseAsItStands
    change: HorseChange
    profile: Profile

    @property
    def horse(self) -> Horse:
        return self.after.horse

    def day(self, day: date) -> str:
        return formats.day_and_month(day, self.profile.locale, self.profile.today)

    def sentences(self) -> Iterator[str]:
        yield from self._owners()
        yield from self._status_and_place()
        yield from self._next_call()
        yield from self._payers()
        yield from self._prices()
        yield from self._not_invoiced()

    def _owners(self) -> Iterator[str]:
        on = self.change.on
        if self.change.buyer:
            yield f"From {self.day(on)} on, {self.horse} belongs to {self._named(self.after.owners_on(on))}."
        elif self.change.kind in (Kind.SOLD, Kind.DIED):
            if owners := self.before.owners_on(on):
                yield f"{self._named(owners)} {_owns(owners)} {self.horse} through {self.day(on)}."
        elif owners := self.after.owners_on(on):
            yield f"{self._named(owners)} still {_owns(owners)} {self.horse}."

    def _named(self, owners: list[Owner]) -> str:
        if len(owners) == 1:
            return str(owners[0].client)
        locale = self.profile.locale
        return formats.listed(f"{row.client} ({formats.percent(row.share, locale)})" for row in owners)

    def _status_and_place(self) -> Iterator[str]:
        if self.before.horse.status != self.horse.status:
            if self.horse.status == Horse.Status.ACTIVE:
                yield f"{self.horse} is active again, and comes up when it is due."
            else:
                yield f"{self.horse} no longer comes up as due, and no material is planned for it."
        if self.before.horse.place_id != self.horse.place_id:
            yield f"{self.horse} is at {self.horse.place} from now on."

    def _next_call(self) -> Iterator[str]:
        if agreed := self.before.horse.next_call:
            what = "stays" if self.horse.next_call else "is dropped"
            yield f"The next visit agreed, {self.day(agreed)}, {what}."

    def _payers(self) -> Iterator[str]:
        last = self.change.last_day
        for key, row in self.before.payers.items():
            if row.valid_to and row.valid_to <= last:
                continue
            after = self.after.payers.get(key)
            if after is None:
                yield f"{row.client} will not pay for {self.horse}."
            elif after.valid_to == row.valid_to:
                yield f"{row.client} goes on paying for {self.horse} instead of the owners."
            else:
                yield f"{row.client} pays for {self.horse} through {self.day(last)}, then no longer."

    def _prices(self) -> Iterator[str]:
        if self.change.kind == Kind.DIED:
            return
        prices = Price.objects.special().filter(horse=self.horse)
        if names := list(dict.fromkeys(str(row.thing) for row in prices)):
            things = formats.listed(names)
            yield f"Special prices for {self.horse} stay: {things}. Delete them if they no longer apply."

    def _not_invoiced(self) -> Iterator[str]:
        if not self.change.buyer:
            return
        done = visits_naming(self.horse).filter(status=Visit.Status.DONE, date__gte=self.change.on)
        for visit in done.select_related("place").order_by("date", "pk"):
            yield f"{visit.place} on {self.day(visit.date)} is not invoiced yet: the new owners pay for it."


def _owns(owners: list[Owner]) -> str:
    return "own" if len(owners) > 1 else "owns"


def stops_in_words(stops: Iterable[PlannedStop], answers: dict[int, str], profile: Profile) -> Iterator[str]:
    """Yield what becomes of planned stops."""
    for stop in stops:
        answer = answers.get(stop.visit.pk)
        day = formats.short_date(stop.visit.date, profile.locale, profile.today)
        what = {
            CANCEL: "is canceled",
            OFF: f"stays, without {formats.listed(stop.horses)}",
        }.get(answer, "stays as planned")
        yield f"The stop at {stop.visit.place} on {day} {what}."


def preview_leaving(client: Client, leaving: Leaving, recording: Recording, profile: Profile) -> list[str]:
    """Return what would follow when a client leaves, a sentence each. Raises as recording does."""
    words = list(account_in_words(client, profile))
    with transaction.atomic():
        horses = horses_in_care(client, leaving.on)
        stops = planned_stops(horses, recording.today)
        before = HorseAsItStands.of_all(horse.pk for horse in horses)
        client_leaves(client, leaving, recording)
        for key, after in HorseAsItStands.of_all(before).items():
            words += _horse_in_words(before[key], after, leaving.on, profile)
        words += stops_in_words(stops, leaving.stops, profile)
        words += _paid_for_others(client, leaving.on, profile)
        transaction.set_rollback(True)
    return [*words, f"{client} goes into the archive, with the whole history."]


def account_in_words(client: Client, profile: Profile) -> Iterator[str]:
    """Yield what is owed, what the client has as credit, and what is not invoiced yet."""
    style = profile.currency, profile.locale
    owed, credit = Invoice.objects.filter(client=client).open_total(), credit_left(client)
    if owed:
        yield f"{client} still owes {formats.money(owed, *style)}. That stays on the account."
    if credit:
        yield f"{client} has {formats.money(credit, *style)} of credit. That stays until you refund it."
    horses = client.shares.values("horse")
    open_visits = Visit.objects.done().filter(work__horse__in=horses, locked=False, billed=False)
    if through := profile.closed_through:
        open_visits = open_visits.filter(date__gt=through)
    if count := open_visits.distinct().count():
        stops = formats.counted(count, "stop")
        are = "is" if count == 1 else "are"
        yield f"{stops} with the client's horses {are} not invoiced yet. Close the days first."


def _horse_in_words(
    before: HorseAsItStands, after: HorseAsItStands, on: date, profile: Profile
) -> Iterator[str]:
    horse, tomorrow = after.horse, on + timedelta(days=1)
    if before.horse.status != horse.status:
        yield f"{horse} is recorded as {horse.get_status_display().lower()}, and no longer comes up as due."
        return
    owners = formats.listed(str(row.client) for row in after.owners_on(tomorrow))
    day = formats.day_and_month(tomorrow, profile.locale, profile.today)
    yield f"From {day} on, {horse} belongs to {owners}."


def _paid_for_others(client: Client, on: date, profile: Profile) -> Iterator[str]:
    day = formats.day_and_month(on, profile.locale, profile.today)
    for row in client.bill_to.filter(valid_to=on).select_related("horse").order_by("pk"):
        yield f"{client} pays for {row.horse} through {day}, then the owners do."
