"""A day before it is closed: who is billed what, what waits, and what looks wrong."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from billing.models import CheckedWarning
from billing.reports.billable import HeldVisit
from billing.reports.close_warnings import CloseWarning, warnings_of
from billing.reports.drafts import InvoiceDraft, OpenWork, drafts_of_day, month_end, open_work
from practice.lib.profile import Profile
from practice.models import Client, Visit


@dataclass(frozen=True)
class MonthlyAmount:
    """What of a day's lines goes on the invoice that a client gets at the end of the month."""

    client: Client
    month: date
    net: Decimal


@dataclass(frozen=True)
class DayReport:
    """A day before it is closed. Amounts in the practice's currency.

    `checked` are the warnings that were said to be right, `older` are earlier days that still have lines to
    issue.
    """

    date: date
    drafts: list[InvoiceDraft]
    waiting: list[MonthlyAmount]
    held: list[HeldVisit]
    warnings: list[CloseWarning]
    checked: list[CloseWarning]
    older: list[date]
    stops: int
    done: int
    planned: int
    is_closed: bool

    @property
    def to_check(self) -> int:
        """How many things to check before the day is closed."""
        return len(self.held) + len(self.warnings)

    def total(self, currency: str) -> Decimal:
        """Return the total of all drafts."""
        return sum((draft.totals(currency).total for draft in self.drafts), Decimal(0))


def day_report(on: date, profile: Profile, today: date) -> DayReport:
    """Return everything that the close page of a day shows."""
    visits = list(Visit.objects.filter(date=on).select_related("place", "vehicle").in_driving_order())
    work = open_work(on, profile)
    unissued, drafts = work.on_days(lambda day: day == on, today), drafts_of_day(on, work, today)
    waiting: dict[int, Decimal] = defaultdict(Decimal)
    for line in unissued.lines:
        client = unissued.clients[line.part.client]
        if client.billing == Client.Billing.MONTHLY and month_end(on) != on:
            waiting[client.pk] += line.part.net
    right = set(CheckedWarning.objects.filter(date=on).values_list("text", flat=True))
    warnings = warnings_of(on, on, profile, visits)
    planned = sum(visit.status == Visit.Status.PLANNED for visit in visits)
    daily = [draft for draft in drafts if draft.client.billing == Client.Billing.PER_DAY]
    return DayReport(
        date=on,
        drafts=drafts,
        waiting=[
            MonthlyAmount(unissued.clients[key], month_end(on), net)
            for key, net in sorted(waiting.items())
            if net
        ],
        held=unissued.held,
        warnings=[row for row in warnings if row.text not in right],
        checked=[row for row in warnings if row.text in right],
        older=older_days(on, work, today),
        stops=sum(visit.status != Visit.Status.CANCELLED for visit in visits),
        done=sum(visit.status == Visit.Status.DONE for visit in visits),
        planned=planned,
        is_closed=not (planned or unissued.held or daily),
    )


def older_days(before: date, work: OpenWork, today: date) -> list[date]:
    """Return the days before this one with lines of clients billed by the day that are not issued yet."""
    unissued = work.on_days(lambda day: day < before, today)
    days = defaultdict(Decimal)
    for line in unissued.lines:
        if unissued.clients[line.part.client].billing == Client.Billing.PER_DAY:
            days[line.date] += line.part.net
    return sorted(day for day, net in days.items() if net)
