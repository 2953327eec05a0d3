"""Which invoices are due for some days: worked out before anything is issued, and never stored."""

from calendar import monthrange
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, timedelta

from django.db.models import Q, QuerySet

from billing.models import InvoiceLine
from billing.reports.billable import Billable, Biller, HeldVisit
from billing.reports.credits import freed_visits
from billing.rules.lines import CREDITED, LinePart
from billing.rules.totals import Totals, totals
from practice.lib.profile import Profile
from practice.models import Client, Visit


@dataclass(frozen=True)
class DraftLine:
    """A client's part that waits for an invoice; `written` is its row where its visit is locked already."""

    visit: Visit
    part: LinePart
    written: InvoiceLine | None = None


@dataclass
class InvoiceDraft:
    """An invoice as it would be issued: its lines by visit, in order, and their totals."""

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


def month_end(day: date) -> date:
    return day.replace(day=monthrange(day.year, day.month)[1])


class Unissued:
    """What is done and not invoiced of some visits, client by client."""

    def __init__(self, visits: Iterable[Visit], profile: Profile, today: date):
        self.profile, self.today = profile, today
        visits = list(visits)
        fresh = [visit for visit in visits if not visit.locked]
        self.biller = Biller(fresh, profile)
        self.freed = freed_visits([visit.pk for visit in fresh])
        self.billables: list[Billable] = [self._unless_credited(row) for row in self.biller.all()]
        self.held: list[HeldVisit] = [row.held for row in self.billables if row.held]
        self.lines = [DraftLine(row.visit, part) for row in self.billables for part in row.parts]
        by_key = {visit.pk: visit for visit in visits}
        locked = [visit.pk for visit in visits if visit.locked]
        waiting = InvoiceLine.objects.waiting().filter(visit__in=locked).select_related("service", "item")
        self.lines += [DraftLine(by_key[row.visit_id], row.as_part(), row) for row in waiting.order_by("pk")]
        self.lines.sort(key=lambda line: (line.visit.date, line.visit.pk))
        self.clients = Client.objects.in_bulk({line.part.client for line in self.lines})

    def _unless_credited(self, row: Billable) -> Billable:
        """Hold back what bills a visit that was credited in full, until someone says to bill it again."""
        freed = self.freed.get(row.visit.pk)
        if freed is None or freed.again or not (row.parts or row.held):
            return row
        reason = f"Credit note {freed.credit_note} took back all that was billed."
        return Billable(row.visit, [], HeldVisit(row.visit, CREDITED, reason, None))

    def invoice_date(self, client: Client, visit: Visit) -> date:
        """Return the date of the invoice that a visit's lines go on: its day, or its month's last.

        A visit that a credit note freed is not billed before that. Where the day is closed for good, it is
        today, or the first open day after it.
        """
        on = month_end(visit.date) if client.billing == Client.Billing.MONTHLY else visit.date
        if visit.pk in self.freed:
            on = max(on, self.freed[visit.pk].credit_note.issued)
        if self.profile.is_closed(on):
            return self.profile.open_day(max(on, self.today))
        return on

    def drafts(self) -> list[InvoiceDraft]:
        """Return all drafts by date, then by clients in order of entry."""
        drafts: dict[tuple[date, int], InvoiceDraft] = {}
        for line in self.lines:
            client = self.clients[line.part.client]
            on = self.invoice_date(client, line.visit)
            drafts.setdefault((on, client.pk), InvoiceDraft(client, on)).lines.append(line)
        return [drafts[key] for key in sorted(drafts)]


def uninvoiced(dates: Q) -> QuerySet[Visit]:
    """Return done visits on these dates that have something left to invoice: not locked, or parts waiting."""
    waiting = InvoiceLine.objects.waiting().values("visit")
    done = Visit.objects.done().filter(dates, billed=False)
    return done.filter(Q(locked=False) | Q(pk__in=waiting))


def uninvoiced_visits(dates: Q) -> list[Visit]:
    """Return `uninvoiced` visits with their places, by day and in order of entry."""
    return list(uninvoiced(dates).select_related("place").order_by("date", "pk"))


def due_drafts(
    begin: date, end: date, profile: Profile, today: date, only: date | None = None
) -> list[InvoiceDraft]:
    """Return what closing these days issues, by date, then clients in order of entry.

    Clients billed by the day: lines of the days asked. Clients billed by the month: all lines of each
    month whose last day is not after `end`. A draft whose lines are all zero is left out. `only`:
    drafts of that date alone, from the visits that can be on them.
    """
    after_last_month = end + timedelta(days=1) if end == month_end(end) else end.replace(day=1)
    dates = Q(date__gte=begin, date__lte=end) | Q(date__lt=after_last_month)
    if only:
        closed = Q(date__lte=profile.closed_through) if profile.closed_through else Q(pk__in=[])
        of_month = Q(date__gte=only.replace(day=1)) if only == month_end(only) else Q(date=only)
        credited = Q(locked=False, pk__in=InvoiceLine.objects.filter(invoice__isnull=False).values("visit"))
        dates &= of_month & Q(date__lte=only) | closed | credited
    unissued = Unissued(uninvoiced_visits(dates), profile, today)
    wanted = []
    for line in unissued.lines:
        monthly = unissued.clients[line.part.client].billing == Client.Billing.MONTHLY
        if month_end(line.visit.date) <= end if monthly else begin <= line.visit.date <= end:
            wanted.append(line)
    unissued.lines = wanted
    drafts = [draft for draft in unissued.drafts() if not draft.is_nothing]
    return [draft for draft in drafts if only in (None, draft.date)]


def held_visits(begin: date, end: date, profile: Profile, today: date) -> list[HeldVisit]:
    """Return the visits of these days that are held back now, in order."""
    visits = uninvoiced_visits(Q(date__gte=begin, date__lte=end, locked=False))
    return Unissued(visits, profile, today).held
