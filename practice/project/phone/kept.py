"""What a phone keeps to work without signal: the least that three days of work need, and nothing else.

The phone asks for this list (`kept.json`), fetches each page once, and fetches nothing again while the stamp
is the same. Each page is one that the login may open anyway. A part that has pages worth keeping adds them to
`addresses`, `of_new`, `at_stop` or `at_horse`, and their names to `tests/project/phone/test_kept.py`.
"""

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from django.urls import reverse

from billing.models import Payment
from practice.lib import formats
from practice.lib.kept import Kept
from practice.lib.pages import round_url
from practice.lib.profile import Profile
from practice.lib.stamps import stamps_of
from practice.models import Finding, FootRecord, Horse, HorseTime, Prescription, Sign, Visit
from practice.project.home import HOME_RESTS_ON
from practice.reports.earlier_findings import earlier_findings
from practice.reports.on_phone import horse_on_phone, stop_on_phone
from practice.reports.round import plan_url
from practice.reports.stop import Stop
from stock.models import Balance, Location, Shelf

DAYS_AHEAD = 2
KEPT_RESTS_ON = (
    *HOME_RESTS_ON,
    *(Finding, FootRecord, HorseTime, Payment, Prescription, Sign),
    *(Balance, Location, Shelf),
)


@dataclass(frozen=True)
class KeptPage:
    """An address that a phone keeps, and what its page is, as the list of what is kept says it."""

    path: str
    what: str


def kept_pages(on: date) -> tuple[KeptPage, ...]:
    """Return the pages that a phone keeps on a day, those needed first in front. Worked out once."""
    return _kept(on)


def stamp_on(on: date, login: str) -> str:
    """Return what changes with each row that a kept page may show, with the day and with the login."""
    stamps = stamps_of({model._meta.db_table for model in KEPT_RESTS_ON})
    return hashlib.sha256(repr((on, login, stamps)).encode()).hexdigest()[:32]


def days_kept(on: date) -> list[date]:
    return [on + timedelta(days) for days in range(DAYS_AHEAD + 1)]


def addresses(on: date) -> Iterator[KeptPage]:
    """Give what a phone keeps: the rounds, what each of their stops needs, and what holds for all of them."""
    profile = Profile.current()
    yield KeptPage(reverse("phone-entries"), "On this phone")
    for day in days_kept(on):
        yield KeptPage(round_url(day), f"Round, {formats.medium_date(day, profile.locale)}")
    yield KeptPage(plan_url(on), "A stop on today's round")
    yield from of_new()
    for day in days_kept(on):
        for visit in Visit.objects.filter(date=day).for_round():
            if visit.status != Visit.Status.CANCELLED:
                yield from at_stop(visit)
    yield KeptPage(reverse("practice:service-list"), "Prices")
    yield KeptPage(reverse("stock:truck"), "Items on the truck")
    yield KeptPage(reverse("phone-kept"), "What this phone keeps")


def of_new() -> Iterator[KeptPage]:
    """Give the pages of a stop, and of a horse, that is only on the phone so far."""
    visit = stop_on_phone()
    horse = horse_on_phone(visit)
    yield KeptPage(visit.get_absolute_url(), "A new stop")
    yield KeptPage(reverse("practice:visit-horse-add", args=[visit.pk]), "A new horse at a new stop")
    yield KeptPage(visit.horse_url(horse), "Work on a new horse at a new stop")
    yield KeptPage(reverse("practice:finding-add", args=[visit.pk, horse.pk]), "A finding on a new horse")
    yield KeptPage(reverse("practice:visit-feet", args=[visit.pk, horse.pk]), "Shoeing record of a new horse")


def at_stop(visit: Visit) -> Iterator[KeptPage]:
    """Give the page of a stop, and those of every horse that stands there."""
    stop = Stop(visit, Profile.current())
    yield KeptPage(visit.get_absolute_url(), f"Stop, {visit.place}")
    if not visit.is_fixed:
        for row in stop.horses:
            yield from at_horse(visit, row.horse)
        for seen in earlier_findings([row.horse for row in stop.horses], visit, stop.profile):
            if seen.told_url:
                yield KeptPage(seen.told_url, f"Who was told, {seen.horse}")
    if visit.status == Visit.Status.PLANNED:
        yield KeptPage(reverse("practice:visit-horse-add", args=[visit.pk]), f"A new horse, {visit.place}")
        yield KeptPage(visit.horse_url(horse_on_phone(visit)), f"Work on a new horse, {visit.place}")
        yield KeptPage(reverse("practice:visit-next-call", args=[visit.pk]), f"Next visit, {visit.place}")
        for client in stop.payers:
            payment = reverse("billing:payment-add", args=[client.pk])
            yield KeptPage(f"{payment}?visit={visit.pk}", f"Payment from {client}, {visit.place}")


def at_horse(visit: Visit, horse: Horse) -> Iterator[KeptPage]:
    """Give the pages that are needed at a horse's side."""
    yield KeptPage(visit.horse_url(horse), f"{horse}, {visit.place}")
    finding = reverse("practice:finding-add", args=[visit.pk, horse.pk])
    yield KeptPage(finding, f"Finding, {horse}")
    feet = reverse("practice:visit-feet", args=[visit.pk, horse.pk])
    yield KeptPage(feet, f"Shoeing record, {horse}")


_kept = Kept(lambda on: tuple(addresses(on)), KEPT_RESTS_ON)
