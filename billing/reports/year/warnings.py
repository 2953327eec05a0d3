"""What is left to mend in a year before it goes to the tax preparer."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from django.db.models import Count, Exists, Min, OuterRef, Q, QuerySet

from billing.reports.drafts import Unissued, month_end, uninvoiced, uninvoiced_visits
from billing.reports.year.income import Accounts
from billing.reports.year.miles import Miles
from practice.lib import formats
from practice.lib.periods import Period
from practice.lib.profile import Profile
from practice.models import Client, Visit, Work
from practice.reports.driven import VehicleDistances
from stock.models import Item
from stock.reports.levels import levels

JUMPS, OPEN_DAY, OPEN_MONTH, NO_WORK = "jumps", "open_day", "open_month", "no_work"
BELOW_ZERO, CARRIED, NO_RATE, REFUSED, CREDIT = "below_zero", "carried", "no_rate", "refused", "credit"

# More visits of a kind than that are told together.
MANY = 100


@dataclass(frozen=True)
class YearIssue:
    """Something to look at, in words; `about` is the key of the day, visit, item or client, if it has one."""

    kind: str
    text: str
    about: date | int | None = None


@dataclass
class OpenDay:
    """What keeps a day from being closed."""

    planned: int = 0
    held: int = 0
    net: Decimal = field(default=Decimal(0))

    @property
    def is_open(self) -> bool:
        return bool(self.planned or self.held or self.net)


class YearWarnings:
    """Finds what is left to mend in a tax year, in the practice's words."""

    def __init__(self, year: Period, profile: Profile, today: date):
        self.year, self.profile, self.today = year, profile, today

    def all(self, miles: Miles, accounts: Accounts) -> tuple[YearIssue, ...]:
        """Return everything, what keeps money or miles back first."""
        return (
            *self.visits(),
            *(self.jumps(driven) for driven in miles.vehicles if driven.gaps),
            *self.rates(miles),
            *self.below_zero(),
            *self.credits(accounts),
        )

    # Days and visits

    def visits(self) -> Iterable[YearIssue]:
        """Days that are not closed and done visits without work; one line for many of a kind."""
        worked = Exists(Work.objects.filter(visit=OuterRef("pk")))
        waiting = uninvoiced(self._dates(self.year.end)).filter(worked)
        if many := self._many(waiting, "not invoiced"):
            yield many
            yield from self.open_days(())
        else:
            yield from self.open_days(uninvoiced_visits(self._dates(self.year.end)))
        idle = Visit.objects.done().filter(self._dates(self.year.end)).filter(~worked)
        if many := self._many(idle, "without work"):
            yield many
        else:
            yield from self.done_without_work(idle)

    def _many(self, visits: QuerySet[Visit], what: str) -> YearIssue | None:
        """Tell visits of a kind together where they are many; None where each is to be told."""
        found = visits.aggregate(visits=Count("pk"), days=Count("date", distinct=True), first=Min("date"))
        if found["visits"] <= MANY:
            return None
        days = "1 day" if found["days"] == 1 else f"{found['days']} days"
        text = f"{found['visits']} visits on {days} are done, but {what}; the first on"
        return YearIssue(OPEN_DAY, f"{text} {self._day(found['first'])}.", found["first"])

    def open_days(self, visits: Iterable[Visit]) -> Iterable[YearIssue]:
        """Days with planned visits that have passed, with held ones, or with lines to invoice of `visits`."""
        days: dict[date, OpenDay] = defaultdict(OpenDay)
        months: dict[tuple[date, Client], Decimal] = defaultdict(Decimal)
        planned = Visit.objects.planned().filter(self._dates(min(self.year.end, self.today)))
        for day in planned.values_list("date", flat=True):
            days[day].planned += 1
        unissued = Unissued(visits, self.profile, self.today)
        for held in unissued.held:
            days[held.visit.date].held += 1
        for line in unissued.lines:
            client, day = unissued.clients[line.part.client], line.visit.date
            if client.billing == Client.Billing.PER_DAY:
                days[day].net += line.part.net
            elif month_end(day) <= self.today:
                months[month_end(day), client] += line.part.net
        for day in sorted(days):
            if days[day].is_open:
                yield YearIssue(OPEN_DAY, f"{self._day(day)} is not closed: {self._why(days[day])}.", day)
        for (day, client), net in sorted(months.items(), key=lambda entry: (entry[0][0], entry[0][1].pk)):
            if net:
                month = formats.month_name(day, self.profile.locale)
                text = f"{client}: {self._money(net)} of {month} is not invoiced."
                yield YearIssue(OPEN_MONTH, text, day)

    def done_without_work(self, visits: QuerySet[Visit]) -> Iterable[YearIssue]:
        for visit in visits.select_related("place").order_by("date", "pk"):
            text = f"{visit.place}, {self._day(visit.date)}: done, but no work. Nothing is billed."
            yield YearIssue(NO_WORK, text, visit.pk)

    def _dates(self, end: date) -> Q:
        return Q(date__gte=self.year.begin, date__lte=end)

    def _why(self, day: OpenDay) -> str:
        parts = []
        if day.planned:
            parts.append(f"{day.planned} {'visit' if day.planned == 1 else 'visits'} planned, no entry")
        if day.held:
            parts.append(f"{day.held} held back")
        if day.net:
            parts.append(f"{self._money(day.net)} not invoiced")
        return ", ".join(parts)

    # Miles

    def jumps(self, driven: VehicleDistances) -> YearIssue:
        """Return what the odometer jumped over; it leads to the largest jump."""
        largest = max(driven.gaps, key=lambda gap: gap.distance)
        count = len(driven.gaps)
        how = "one jump" if count == 1 else f"{count} jumps"
        text = (
            f"{driven.vehicle}: {self._distance(driven.unlogged)} not logged, in {how} of the odometer"
            f"{'' if count == 1 else f', the largest {self._distance(largest.distance)}'}"
            f" on {self._day(largest.date)}. Not claimed."
        )
        return YearIssue(JUMPS, text, largest.date)

    def rates(self, miles: Miles) -> Iterable[YearIssue]:
        carried = [row for row in miles.standard.rows if row.carried and row.distance]
        if carried:
            since = self._day(min(row.begin for row in carried))
            text = f"No mileage rate is known from {since}: the last one goes on. The total is provisional."
            yield YearIssue(CARRIED, text)
        if miles.standard.without_rate:
            far = self._distance(miles.standard.without_rate)
            yield YearIssue(NO_RATE, f"No mileage rate is known for {far} of the business miles.")
        if miles.standard.refused:
            most = self.profile.scheme.most_at_once
            text = f"More than {most} vehicles were in use on one day: no standard rate is offered."
            yield YearIssue(REFUSED, text)

    # The shelf and the accounts

    def below_zero(self) -> Iterable[YearIssue]:
        short = {pk: level for pk, level in levels(self.year.end).items() if level.on_hand < 0}
        for item in Item.objects.filter(pk__in=short).order_by("pk"):
            found = formats.quantity(short[item.pk].on_hand, self.profile.locale)
            text = f"{item}: {found} in the book on {self._day(self.year.end)}. Count it."
            yield YearIssue(BELOW_ZERO, text, item.pk)

    def credits(self, accounts: Accounts) -> Iterable[YearIssue]:
        for row in accounts.rows:
            if row.credit:
                text = f"{row.client}: {self._money(row.credit)} of credit is not used."
                yield YearIssue(CREDIT, text, row.client.pk)

    # Words

    def _day(self, day: date) -> str:
        return formats.medium_date(day, self.profile.locale)

    def _money(self, amount: Decimal) -> str:
        return formats.money(amount, self.profile.currency, self.profile.locale)

    def _distance(self, distance: Decimal) -> str:
        return formats.distance(distance, self.profile.distance_unit, self.profile.locale)
