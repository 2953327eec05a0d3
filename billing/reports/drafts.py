"""Which invoices are due for some days: worked out before anything is issued, and never stored."""

from calendar import monthrange
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal

from django.db.models import Exists, OuterRef, Q, QuerySet

from billing.models import Charge, InvoiceLine
from billing.reports.billable import Billable, Biller, HeldVisit
from billing.reports.credits import FreedVisit, freed_visits
from billing.rules.discounts import discounts, those_that_fit
from billing.rules.lines import CREDITED, DISCOUNT, DISCOUNTED, LinePart
from billing.rules.totals import Totals, totals
from practice.lib.profile import Profile
from practice.models import Client, Visit


@dataclass(frozen=True)
class DraftLine:
    """A client's part that waits for an invoice; `written` is its row where its visit is locked already.

    `charge` is the row of charges that it is. A client's discount has neither visit nor charge.
    """

    visit: Visit | None
    part: LinePart
    written: InvoiceLine | None = None
    charge: Charge | None = None

    @property
    def date(self) -> date:
        """The day that it is about; not for a discount."""
        return self.charge.date if self.charge else self.visit.date

    @property
    def is_of_visit(self) -> bool:
        return self.part.horse is not None


@dataclass
class InvoiceDraft:
    """An invoice as it would be issued: the lines of visits in order, then charges, then discounts."""

    client: Client
    date: date
    lines: list[DraftLine] = field(default_factory=list)

    def totals(self, currency: str) -> Totals:
        """Return net, tax and total in the practice's currency."""
        lines = [(line.part.net, line.part.taxes) for line in self.lines]
        return totals(lines, currency, exempt=self.client.tax_exempt)

    @property
    def is_nothing(self) -> bool:
        """Whether all lines are zero: they wait for the client's next invoice of that date."""
        return not any(line.part.net for line in self.lines)

    def complete(self, negative: list[DraftLine], currency: str) -> list[DraftLine]:
        """Add the client's discount and those of these negative charges that fit; return those that wait.

        `negative` stand in order of entry.
        """
        own = [line for line in self.lines if line.charge]
        percent = self.client.discount or Decimal(0)
        reduced = [(line.part.net, line.part.taxes) for line in self.lines if line.part.kind in DISCOUNTED]
        taken_off = [
            DraftLine(None, discount_part(self.client, percent, amount, taxes))
            for amount, taxes in discounts(reduced, percent, currency)
        ]
        nets = [(line.part.net, line.part.taxes) for line in (*self.lines, *taken_off)]
        fitting = those_that_fit(nets, [(line.part.net, line.part.taxes) for line in negative])
        own += [negative[index] for index in fitting]
        own.sort(key=lambda line: (line.charge.date, line.charge.pk))
        self.lines = [*(line for line in self.lines if line.is_of_visit), *own, *taken_off]
        return [line for index, line in enumerate(negative) if index not in fitting]


def discount_part(client: Client, percent: Decimal, amount: Decimal, taxes: tuple) -> LinePart:
    """Return a client's discount on one set of rates as a line; `amount` is below zero."""
    one, whole = Decimal(1), Decimal(100)
    return LinePart(client.pk, DISCOUNT, None, None, one, amount, whole, amount, taxes, percent)


def month_end(day: date) -> date:
    return day.replace(day=monthrange(day.year, day.month)[1])


class OpenWork:
    """What some visits and charges have left to invoice, fetched once for all that is asked of them."""

    def __init__(self, visits: Iterable[Visit], profile: Profile, charges: Iterable[Charge] = ()):
        self.visits, self.charges, self.profile = list(visits), list(charges), profile
        fresh = [visit for visit in self.visits if not visit.locked]
        self.biller = Biller(fresh, profile)
        self.freed: dict[int, FreedVisit] = freed_visits([visit.pk for visit in fresh])
        self.billables = {row.visit.pk: self._unless_credited(row) for row in self.biller.all()}
        locked = [visit.pk for visit in self.visits if visit.locked]
        waiting = InvoiceLine.objects.waiting().filter(visit__in=locked).select_related("service", "item")
        self.waiting: list[InvoiceLine] = list(waiting.order_by("pk"))
        self._clients: dict[int, Client] = {}

    def _unless_credited(self, row: Billable) -> Billable:
        """Hold back what bills a visit that was credited in full, until someone says to bill it again."""
        freed = self.freed.get(row.visit.pk)
        if freed is None or freed.again or not (row.parts or row.held):
            return row
        reason = f"Credit note {freed.credit_note} credited everything that was billed."
        return Billable(row.visit, [], HeldVisit(row.visit, CREDITED, reason, None))

    def clients(self, keys: set[int]) -> dict[int, Client]:
        """Return these clients by key."""
        self._clients |= Client.objects.in_bulk(keys - self._clients.keys())
        return {key: self._clients[key] for key in keys}

    def on_days(self, asked: Callable[[date], bool], today: date) -> "Unissued":
        """Return what is left to invoice on the days that are asked for."""
        visits = [visit for visit in self.visits if asked(visit.date)]
        charges = [charge for charge in self.charges if asked(charge.date)]
        return Unissued(visits, self.profile, today, charges, self)


class Unissued:
    """What is done and not invoiced of some visits, and charges that are not, client by client.

    `lines` are what makes an invoice; `negative`, charges below zero, go on one where they fit, in order of
    entry. `work` is what was fetched of these visits, where it was.
    """

    def __init__(
        self,
        visits: Iterable[Visit],
        profile: Profile,
        today: date,
        charges: Iterable[Charge] = (),
        work: OpenWork | None = None,
    ):
        self.profile, self.today = profile, today
        visits = list(visits)
        work = work or OpenWork(visits, profile)
        self.freed = work.freed
        self.billables = [work.billables[visit.pk] for visit in visits if not visit.locked]
        self.held: list[HeldVisit] = [row.held for row in self.billables if row.held]
        self.lines = [DraftLine(row.visit, part) for row in self.billables for part in row.parts]
        locked = {visit.pk: visit for visit in visits if visit.locked}
        waiting = [row for row in work.waiting if row.visit_id in locked]
        self.lines += [DraftLine(locked[row.visit_id], row.as_part(), row) for row in waiting]
        self.lines.sort(key=lambda line: (line.visit.date, line.visit.pk))
        own = [DraftLine(row.visit, work.biller.charge(row), charge=row) for row in charges]
        self.lines += [line for line in own if line.part.net >= 0]
        self.negative = sorted((line for line in own if line.part.net < 0), key=lambda line: line.charge.pk)
        self.clients = work.clients({line.part.client for line in (*self.lines, *self.negative)})

    def client_of(self, line: DraftLine) -> Client:
        return self.clients[line.part.client]

    def is_due(self, line: DraftLine, begin: date, end: date) -> bool:
        """Whether closing these days issues a line: of those days, or of a month that ends by then."""
        if self.client_of(line).billing == Client.Billing.MONTHLY:
            return month_end(line.date) <= end
        return begin <= line.date <= end

    def invoice_date(self, line: DraftLine) -> date:
        """Return the date of the invoice that a line goes on: its day, or its month's last.

        A visit that a credit note freed is not billed before that. Where the day is closed for good, it is
        today, or the first open day after it.
        """
        monthly = self.client_of(line).billing == Client.Billing.MONTHLY
        on = month_end(line.date) if monthly else line.date
        if line.is_of_visit and line.visit.pk in self.freed:
            on = max(on, self.freed[line.visit.pk].credit_note.issued)
        if self.profile.is_closed(on):
            return self.profile.open_day(max(on, self.today))
        return on

    def drafts(self, begin: date = date.min, end: date = date.max) -> list[InvoiceDraft]:
        """Return the drafts of what closing these days issues, by date, then by clients in order of entry.

        A negative charge that does not fit on the invoice of its date waits for the client's next one, also
        where that one is not asked for here. Drafts whose lines are all zero are left out.
        """
        drafts: dict[tuple[date, int, bool], InvoiceDraft] = {}
        for line in self.lines:
            client, on = self.client_of(line), self.invoice_date(line)
            key = (on, client.pk, not self.is_due(line, begin, end))
            drafts.setdefault(key, InvoiceDraft(client, on)).lines.append(line)
        waiting: dict[int, list[DraftLine]] = {}
        for line in self.negative:
            waiting.setdefault(line.part.client, []).append(line)
        for (on, client, _), draft in sorted(drafts.items(), key=lambda entry: entry[0]):
            begun = [line for line in waiting.get(client, ()) if self.invoice_date(line) <= on]
            left = draft.complete(begun, self.profile.currency)
            gone = {line.charge.pk for line in begun} - {line.charge.pk for line in left}
            waiting[client] = [line for line in waiting.get(client, ()) if line.charge.pk not in gone]
        asked = [drafts[key] for key in sorted(drafts) if not key[2]]
        return [draft for draft in asked if not draft.is_nothing]


def uninvoiced(dates: Q) -> QuerySet[Visit]:
    """Return done visits on these dates that have something left to invoice: not locked, or parts waiting."""
    waiting = InvoiceLine.objects.waiting().values("visit")
    done = Visit.objects.done().filter(dates, billed=False)
    return done.filter(Q(locked=False) | Q(pk__in=waiting))


def uninvoiced_visits(dates: Q) -> list[Visit]:
    """Return `uninvoiced` visits with their places, by day and in order of entry."""
    return list(uninvoiced(dates).select_related("place").order_by("date", "pk"))


def uninvoiced_charges(dates: Q) -> list[Charge]:
    """Return the charges on these dates that wait for their invoice, by day and in order of entry."""
    return list(
        Charge.objects.uninvoiced().filter(dates).select_related("visit__place").order_by("date", "pk")
    )


def open_work(through: date, profile: Profile) -> OpenWork:
    """Return what visits and charges have left to invoice at the end of a day."""
    dates = Q(date__lte=through)
    return OpenWork(uninvoiced_visits(dates), profile, uninvoiced_charges(dates))


def drafts_of_day(on: date, work: OpenWork, today: date) -> list[InvoiceDraft]:
    """Return what closing one day issues, as `due_drafts`; `work` is what is left to invoice at its end."""
    after_last_month, since = _after_last_month(on), _since(work.charges)
    visits = [
        visit
        for visit in work.visits
        if visit.date == on or visit.date < after_last_month or (since and visit.date >= since)
    ]
    return Unissued(visits, work.profile, today, work.charges, work).drafts(on, on)


def _after_last_month(end: date) -> date:
    """Return the first day after the last month that is over at the end of a day."""
    return end + timedelta(days=1) if end == month_end(end) else end.replace(day=1)


def _since(charges: Iterable[Charge]) -> date | None:
    """Return the day of the first charge below zero: what is not asked for since then may take it."""
    return min((row.date for row in charges if row.unit_price < 0), default=None)


def due_drafts(begin: date, end: date, profile: Profile, today: date) -> list[InvoiceDraft]:
    """Return what closing these days issues, by date, then clients in order of entry.

    Clients billed by the day: lines of the days asked. Clients billed by the month: all lines of each
    month whose last day is not after `end`. A draft whose lines are all zero is left out.
    """
    return unissued_due(begin, end, profile, today).drafts(begin, end)


def unissued_due(begin: date, end: date, profile: Profile, today: date, only: date | None = None) -> Unissued:
    """Return what the drafts of closing these days are made from.

    `only`: what can be on drafts of that date, so that other drafts may lack some of their lines.
    """
    dates = Q(date__gte=begin, date__lte=end) | Q(date__lt=_after_last_month(end))
    charges = uninvoiced_charges(Q(date__lte=end))
    since = _since(charges)
    if only:
        closed = Q(date__lte=profile.closed_through) if profile.closed_through else Q(pk__in=[])
        of_month = Q(date__gte=only.replace(day=1)) if only == month_end(only) else Q(date=only)
        lines = InvoiceLine.objects.filter(visit=OuterRef("pk"), invoice__isnull=False)
        credited = Q(locked=False) & Exists(lines)
        dates &= of_month & Q(date__lte=only) | closed | credited
    if since:  # what is not asked for, and what a charge below zero may go on before
        dates |= Q(date__gte=since, date__lt=begin)
    return Unissued(uninvoiced_visits(dates), profile, today, charges)


def held_visits(begin: date, end: date, profile: Profile, today: date) -> list[HeldVisit]:
    """Return the visits of these days that are held back now, in order."""
    visits = uninvoiced_visits(Q(date__gte=begin, date__lte=end, locked=False))
    return Unissued(visits, profile, today).held
