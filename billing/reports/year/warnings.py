"""What is still to fix in a year before it goes to the tax preparer."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from django.db.models import Count, Exists, Min, OuterRef, Q, QuerySet
from django.urls import reverse

from billing.reports.drafts import Unissued, month_end, uninvoiced, uninvoiced_charges, uninvoiced_visits
from billing.reports.year.expenses import Expenses
from billing.reports.year.income import Accounts
from billing.reports.year.miles import Miles
from billing.reports.year.words import Words
from practice.lib import formats
from practice.lib.periods import Period
from practice.lib.profile import Profile
from practice.models import Client, Leg, Visit, Work
from practice.reports.driven import VehicleDistances
from practice.reports.road_log import lacking_reason
from stock.models import Item
from stock.reports.levels import levels

JUMPS, OPEN_DAY, OPEN_MONTH, NO_WORK = "jumps", "open_day", "open_month", "no_work"
UNREAD, UNNAMED, NO_REASON = "unread", "unnamed", "no_reason"
BELOW_ZERO, CARRIED, NO_RATE, REFUSED, CREDIT = "below_zero", "carried", "no_rate", "refused", "credit"

# The page where each is fixed, and the words of the link to it.
FIXED_ON = {
    JUMPS: ("practice:round", "Look at the day"),
    UNREAD: ("practice:round", "Enter the odometer"),
    NO_REASON: ("practice:leg-change", "Add the reason"),
    UNNAMED: ("billing:expense-change", "Name the vehicle"),
    OPEN_DAY: ("billing:close-day", "Look at the day"),
    OPEN_MONTH: ("billing:close-day", "Look at the invoices"),
    NO_WORK: ("practice:visit-detail", "Look at the visit"),
    BELOW_ZERO: ("stock:item-count", "Count it"),
    CREDIT: ("practice:client-detail", "Look at the account"),
    CARRIED: ("billing:mileage-rate-list", "Add the rate"),
    NO_RATE: ("billing:mileage-rate-list", "Add the rate"),
    REFUSED: ("practice:road", "Look at the drives"),
}

# More visits of a kind than that are one issue together.
MANY = 100


@dataclass(frozen=True)
class YearIssue:
    """Something to fix, in words; `about` is the key of the day, visit, item or client, if it has one."""

    kind: str
    text: str
    about: date | int | None = None

    @property
    def action(self) -> str:
        """The words of the link to the page where it is fixed."""
        return FIXED_ON[self.kind][1]

    @property
    def url(self) -> str:
        """The address of that page."""
        name, about = FIXED_ON[self.kind][0], self.about
        if about is None:
            return reverse("practice:road" if self.kind == UNREAD else name)
        return reverse(name, args=[about.isoformat() if isinstance(about, date) else about])


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
    """Finds what is still to fix in a tax year, in the practice's words."""

    def __init__(self, year: Period, profile: Profile, today: date):
        self.year, self.profile, self.today = year, profile, today
        self.words = Words(profile)

    def all(self, miles: Miles, accounts: Accounts, expenses: Expenses) -> tuple[YearIssue, ...]:
        """Return everything, what keeps money or miles back first."""
        return (
            *self.visits(),
            *(self.jumps(driven) for driven in miles.driven if driven.gaps),
            *(self.unread(driven) for driven in miles.driven if not driven.is_measured),
            *self.unnamed(miles, expenses),
            *self.without_reason(),
            *self.rates(miles),
            *self.below_zero(),
            *self.credits(accounts),
        )

    # Days and visits

    def visits(self) -> Iterable[YearIssue]:
        """Days that are not closed and done visits without work; one issue for many of a kind."""
        worked = Exists(Work.objects.filter(visit=OuterRef("pk")))
        waiting = uninvoiced(self._dates(self.year.end)).filter(worked)
        if many := self._many(waiting, "not invoiced"):
            yield many
            yield from self.open_days(())
        else:
            yield from self.open_days(uninvoiced_visits(self._dates(self.year.end)))
        idle = Visit.objects.done().filter(self._dates(self.year.end)).filter(~worked)
        if many := self._many(idle, "have no work"):
            yield many
        else:
            yield from self.done_without_work(idle)

    def _many(self, visits: QuerySet[Visit], what: str) -> YearIssue | None:
        """Return one issue for visits of a kind where they are many; None where each is its own."""
        counts = visits.aggregate(visits=Count("pk"), days=Count("date", distinct=True), first=Min("date"))
        if counts["visits"] <= MANY:
            return None
        number, days = formats.counted(counts["visits"], "visit"), formats.counted(counts["days"], "day")
        text = f"{number} on {days} are done but {what}, the first on {self.words.day(counts['first'])}."
        return YearIssue(OPEN_DAY, text, counts["first"])

    def open_days(self, visits: Iterable[Visit]) -> Iterable[YearIssue]:
        """Days with planned visits that have passed, with held ones, or with lines to invoice of `visits`."""
        days: dict[date, OpenDay] = defaultdict(OpenDay)
        months: dict[tuple[date, Client], Decimal] = defaultdict(Decimal)
        planned = Visit.objects.planned().filter(self._dates(min(self.year.end, self.today)))
        for day in planned.values_list("date", flat=True):
            days[day].planned += 1
        charges = uninvoiced_charges(self._dates(self.year.end))
        unissued = Unissued(visits, self.profile, self.today, charges)
        for held in unissued.held:
            days[held.visit.date].held += 1
        for line in unissued.lines:
            client, day = unissued.client_of(line), line.date
            if client.billing == Client.Billing.PER_DAY:
                days[day].net += line.part.net
            elif month_end(day) <= self.today:
                months[month_end(day), client] += line.part.net
        for day in sorted(days):
            if days[day].is_open:
                text = f"{self.words.day(day)} is not closed: {self._why(days[day])}."
                yield YearIssue(OPEN_DAY, text, day)
        for (day, client), net in sorted(months.items(), key=lambda entry: (entry[0][0], entry[0][1].pk)):
            if net:
                month = formats.month_name(day, self.profile.locale)
                text = f"{client}: {self.words.money(net)} for {month} is not invoiced."
                yield YearIssue(OPEN_MONTH, text, day)

    def done_without_work(self, visits: QuerySet[Visit]) -> Iterable[YearIssue]:
        for visit in visits.select_related("place").order_by("date", "pk"):
            day = self.words.day(visit.date)
            text = f"{visit.place}, {day}: the visit is done, but has no work. Nothing is billed for it."
            yield YearIssue(NO_WORK, text, visit.pk)

    def _dates(self, end: date) -> Q:
        return Q(date__gte=self.year.begin, date__lte=end)

    def _why(self, day: OpenDay) -> str:
        parts = []
        if day.planned:
            parts.append(f"{formats.counted(day.planned, 'planned visit')} without an entry")
        if day.held:
            parts.append(f"{formats.counted(day.held, 'visit')} held back")
        if day.net:
            parts.append(f"{self.words.money(day.net)} not invoiced")
        return formats.listed(parts)

    # Miles

    def jumps(self, driven: VehicleDistances) -> YearIssue:
        """Return what the odometer jumped over; it leads to the largest jump."""
        largest = max(driven.gaps, key=lambda gap: gap.distance)
        day = self.words.day(largest.date)
        if len(driven.gaps) == 1:
            where = f"from an odometer jump on {day}"
        else:
            far = self.words.distance(largest.distance)
            where = f"from {len(driven.gaps)} odometer jumps, the largest {far} on {day}"
        text = f"{driven.vehicle}: {self.words.distance(driven.unlogged)} not logged, {where}. Not claimed."
        return YearIssue(JUMPS, text, largest.date)

    def unread(self, driven: VehicleDistances) -> YearIssue:
        """Return that it is unknown what a vehicle drove besides its drives."""
        days = [day for day, _ in driven.business_by_day]
        text = (
            f"{driven.vehicle}: not logged is unknown, as there are no two odometer readings to tell it from."
            " Its total is what was logged."
        )
        return YearIssue(UNREAD, text, days[-1] if days else None)

    def unnamed(self, miles: Miles, expenses: Expenses) -> Iterable[YearIssue]:
        """Vehicle costs that name none of several vehicles; the first of them is where to begin."""
        if miles.left_out:
            number = len(expenses.unnamed)
            costs = "1 vehicle cost names" if number == 1 else f"{number} vehicle costs name"
            amount = self.words.money(miles.left_out)
            text = f"{costs} no vehicle, so {amount} is left out of the actual costs."
            yield YearIssue(UNNAMED, text, expenses.unnamed[0])

    def without_reason(self) -> Iterable[YearIssue]:
        """Business drives that are commuting unless a reason says why not; the first is where to begin."""
        if self.profile.home_is_principal_place_of_business:
            return
        by_vehicle: dict[int, list[Leg]] = defaultdict(list)
        for leg in Leg.objects.filter(self._dates(self.year.end)).order_by("date", "pk"):
            by_vehicle[leg.vehicle_id].append(leg)
        lacking = [leg for legs in by_vehicle.values() for leg in lacking_reason(legs, self.profile)]
        if lacking:
            number = len(lacking)
            drives = "1 business drive has" if number == 1 else f"{number} business drives have"
            first = min(lacking, key=lambda leg: leg.date)
            text = (
                f"{drives} no reason, the first on {self.words.day(first.date)}. Home is not your principal"
                " place of business, so a drive from or to it, and the first and the last of a day, are"
                f" commuting unless a reason says why not{self.profile.home_country.home_cited}."
            )
            yield YearIssue(NO_REASON, text, first.pk)

    def rates(self, miles: Miles) -> Iterable[YearIssue]:
        carried = [row for row in miles.standard.rows if row.carried and row.distance]
        if carried:
            since = self.words.day(min(row.begin for row in carried))
            text = f"There is no mileage rate from {since} on. With the last one, the total is provisional."
            yield YearIssue(CARRIED, text)
        if miles.standard.without_rate:
            far = self.words.distance(miles.standard.without_rate)
            yield YearIssue(NO_RATE, f"There is no mileage rate for {far} of the business driving.")
        if miles.standard.refused:
            most = self.profile.scheme.most_at_once
            text = f"More than {most} vehicles were in use on one day, so no standard rate is shown."
            yield YearIssue(REFUSED, text)

    # The shelf and the accounts

    def below_zero(self) -> Iterable[YearIssue]:
        short = {pk: level for pk, level in levels(self.year.end).items() if level.on_hand < 0}
        for item in Item.objects.filter(pk__in=short).order_by("pk"):
            on_hand = self.words.quantity(short[item.pk].on_hand)
            text = f"{item}: {on_hand} on hand on {self.words.day(self.year.end)}. Count it."
            yield YearIssue(BELOW_ZERO, text, item.pk)

    def credits(self, accounts: Accounts) -> Iterable[YearIssue]:
        for row in accounts.rows:
            if row.credit:
                credit, owed = self.words.money(row.credit), self.words.money(row.open)
                text = f"{row.client} has {credit} of unused credit."
                if row.open:
                    text = (
                        f"{row.client} owes {owed} and has {credit} of unused credit. Is it for what is owed?"
                    )
                yield YearIssue(CREDIT, text, row.client.pk)
