"""The round of a day: what each vehicle does, how far it is, and what comes next."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import cached_property

from django.urls import reverse

from practice.lib import formats
from practice.lib.list_rows import ListRow
from practice.lib.periods import within_reach
from practice.lib.profile import Profile
from practice.models import Horse, Visit
from practice.reports.due import DueHorse, due_horses, due_places
from practice.reports.on_phone import stop_on_phone
from practice.reports.round_times import fill_in_times
from practice.reports.vehicle_day import VehicleDay, vehicle_days

# How many places with horses due are named on an empty day.
DUE_SHOWN = 3
# How many days are offered for a stop.
DAYS_OFFERED = 6


@dataclass(frozen=True)
class RoundStep:
    """What comes next on a round: a few words, and the button that does it. `stop` where it leads there.

    `posts`: it changes something, else it opens `url`. Where a phone may record it, `said` is what its list
    says of it, and `said_then` where it leads to without signal; it is over after the forms of the addresses
    `over`.
    """

    say: str
    label: str
    url: str
    stop: Visit | None = None
    posts: bool = False
    said: str = ""
    said_then: str = ""
    over: str = ""


@dataclass
class DayRound:
    """The round of a day, as its page shows it on the day that is `today`."""

    day: date
    today: date
    vehicles: list[VehicleDay]
    profile: Profile

    @property
    def stops(self) -> list[Visit]:
        """The day's visits that were not cancelled."""
        rows = [stop for part in self.vehicles for stop in part.stops]
        return [row.visit for row in rows if not row.is_cancelled]

    @property
    def new_stop_url(self) -> str:
        """The address of a stop before the book knows it."""
        return stop_on_phone().get_absolute_url()

    @property
    def next_stop(self) -> Visit | None:
        """Where to go next, while the day is today."""
        planned = (visit for visit in self.stops if visit.status == Visit.Status.PLANNED)
        return next(planned, None) if self.is_today else None

    @property
    def heading(self) -> str:
        """Where to go next and how far it is, else how far the round is."""
        if self.next_stop is None:
            return self.answer
        if self.next_stop.is_here:
            return f"You are at {self.next_stop.place}."
        [stop] = [row for part in self.vehicles for row in part.stops if row.visit == self.next_stop]
        if stop.about is None:
            return f"Next: {self.next_stop.place}."
        far = formats.distance(stop.about, self.profile.distance_unit, self.profile.locale)
        return f"Next: {self.next_stop.place}, {far}."

    @property
    def lead(self) -> str:
        """How far the round is, where the heading says what comes next."""
        return self.answer if self.next_stop else ""

    @cached_property
    def step(self) -> RoundStep | None:
        """The next thing to do: the next stop, then what ends the day; None where nothing is left."""
        if self.next_stop:
            return stop_steps(self.next_stop)[0]
        planned = any(visit.status == Visit.Status.PLANNED for visit in self.stops)
        if self.is_ahead or planned or not self.stops:
            return None
        steps = (self._reading_step, self._drive_step)
        on_the_road = [part for part in self.vehicles if part.vehicle and part.open_stops]
        for step in (find(part) for find in steps for part in on_the_road):
            if step:
                return step
        if all(visit.is_fixed for visit in self.stops):
            return None
        return RoundStep("", "Close the day", reverse("billing:close-day", args=[self.day.isoformat()]))

    def _reading_step(self, part: VehicleDay) -> RoundStep | None:
        if "end" in part.readings:
            return None
        return RoundStep(f"{part.name}: what does it read now?", "Evening odometer", f"#{part.end_id}")

    def _drive_step(self, part: VehicleDay) -> RoundStep | None:
        """All drives whose distance is known at once, then one by one those that have to be typed."""
        of_the_day = [self.day.isoformat(), part.vehicle.pk]
        if part.to_add:
            count, far = len(part.to_add), sum(row.distance for row in part.to_add)
            words = formats.distance(far, self.profile.distance_unit, self.profile.locale)
            label = "Add the drive" if count == 1 else f"Add all {count} drives"
            return RoundStep(
                f"{part.name}: {words}", label, reverse("practice:leg-take", args=of_the_day), posts=True
            )
        if part.proposals:
            row = part.proposals[0]
            url = f"{reverse('practice:leg-add', args=of_the_day)}?take={row.key}"
            return RoundStep(f"{row.origin} to {row.destination}", "Enter the distance", url)
        return None

    @property
    def answer(self) -> str:
        """How far the round is, as the page's heading says it."""
        done = sum(visit.status == Visit.Status.DONE for visit in self.stops)
        return stops_done(done, len(self.stops)) if self.stops else "No stops planned yet."

    @property
    def is_today(self) -> bool:
        return self.day == self.today

    @property
    def is_ahead(self) -> bool:
        return self.day > self.today

    @property
    def before(self) -> date | None:
        return within_reach(self.day - timedelta(1), self.today)

    @property
    def after(self) -> date | None:
        return within_reach(self.day + timedelta(1), self.today)

    @property
    def due(self) -> list[ListRow]:
        """Places with horses due, where no stop is planned; each opens the form of a stop there."""
        return [] if self.stops else due_rows(self.day, DUE_SHOWN, self.profile)

    @property
    def plan_url(self) -> str:
        return plan_url(self.day)


def stop_steps(visit: Visit) -> list[RoundStep]:
    """Return what comes next at a planned stop of today: to say that we are here, then to go on there."""
    arrive, complete = (reverse(f"practice:visit-{name}", args=[visit.pk]) for name in ("arrive", "complete"))
    url, place = visit.get_absolute_url(), visit.place
    here = RoundStep(f"You are at {place}", "Go on there", url, visit, over=complete)
    come = RoundStep(
        f"Next: {place}",
        "I am here",
        arrive,
        visit,
        posts=True,
        said=f"At {place}",
        said_then=url,
        over=f"{arrive} {complete}",
    )
    return [here] if visit.is_here else [come, here]


def plan_url(on: date) -> str:
    """Return the form that plans a stop on a day."""
    return reverse("practice:visit-plan", args=[on.isoformat()])


def due_rows(on: date, most: int, profile: Profile) -> list[ListRow]:
    """Return the places with horses due, as rows that open the form of a stop there on that day."""
    rows = []
    for place in due_places(on)[:most]:
        planned = ""
        if place.planned:
            planned = f"planned {formats.short_date(place.planned.date, profile.locale, profile.today)}"
        due = f"due {formats.short_date(place.due, profile.locale, profile.today)}"
        url = f"{plan_url(on)}?place={place.place.pk}"
        rows.append(ListRow(url, place.place.name, place.horse_names, due, place.due < on, planned))
    return rows


@dataclass(frozen=True)
class OfferedDay:
    """A day that a stop may be planned on: what it is, why it is offered, and whether it is chosen."""

    day: date
    name: str
    why: str
    is_chosen: bool


def offered_days(place_id: int | None, on: date, profile: Profile) -> list[OfferedDay]:
    """Return today and the days, from today on, when horses of a place are due; `on` is the day chosen."""
    horses = Horse.objects.active().filter(place=place_id) if place_id else []
    due = [row for row in due_horses(horses) if row.due and row.due >= profile.today] if horses else []
    days = [profile.today, *(row.due for row in due)]
    return [
        OfferedDay(day, _day_name(day, profile), _names_due([r for r in due if r.due == day]), day == on)
        for day in list(dict.fromkeys(days))[:DAYS_OFFERED]
    ]


def _day_name(day: date, profile: Profile) -> str:
    return "Today" if day == profile.today else formats.short_date(day, profile.locale, profile.today)


def _names_due(due: list[DueHorse]) -> str:
    return f"{formats.listed(row.horse for row in due)} due" if due else ""


def stops_done(done: int, stops: int) -> str:
    """Say how many of a day's stops are done, in one sentence. There is at least one stop."""
    if stops == 1:
        return "Your one stop is done." if done else "Your one stop is not done yet."
    if done == stops:
        return f"All {stops} stops are done."
    if not done:
        return f"None of your {stops} stops is done yet."
    return f"{done} of {stops} stops {'is' if done == 1 else 'are'} done."


def day_round(on: date, today: date, profile: Profile, now: datetime | None = None) -> DayRound:
    """Return the round of a day, with how long it takes from `now` on where it is not over."""
    parts = vehicle_days(on, profile)
    if on >= today:
        fill_in_times(parts, profile, now if on == today else None)
    if on == today:
        for stop in (stop for part in parts for stop in part.stops if stop.is_planned):
            stop.steps = stop_steps(stop.visit)
    return DayRound(on, today, parts, profile)
