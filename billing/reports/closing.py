"""What an evening asks: is the day closed, who is billed what, what waits, and what looks wrong."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db.models import Q

from billing.reports.billable import HeldVisit
from billing.reports.drafts import InvoiceDraft, Unissued, due_drafts, month_end, uninvoiced_visits
from practice.lib.formats import day_and_month, quantity
from practice.lib.profile import Profile
from practice.models import Client, Horse, MaterialUse, Reading, Vehicle, Visit, Work
from stock.models import ItemKind

NO_SHOES, NAILS, NO_READING, PLANNED, NO_WORK = "no_shoes", "nails", "no_reading", "planned", "no_work"


@dataclass(frozen=True)
class CloseWarning:
    """Something that looks wrong and is billed as it is. `horse` and `vehicle` where it is about one."""

    kind: str
    text: str
    date: date
    visit: Visit | None = None
    horse: Horse | None = None
    vehicle: Vehicle | None = None


@dataclass(frozen=True)
class MonthlyAmount:
    """What of a client's lines so far goes on the invoice of the month."""

    client: Client
    month: date
    net: Decimal


@dataclass(frozen=True)
class DayReport:
    """A day before it is closed. Amounts in the practice's currency."""

    date: date
    drafts: list[InvoiceDraft]
    waiting: list[MonthlyAmount]
    held: list[HeldVisit]
    warnings: list[CloseWarning]
    older: list[date]
    stops: int
    done: int
    planned: int
    is_closed: bool

    def total(self, currency: str) -> Decimal:
        return sum((draft.totals(currency).total for draft in self.drafts), Decimal(0))


def day_report(on: date, profile: Profile, today: date) -> DayReport:
    """Return everything that the close page of a day shows."""
    visits = list(Visit.objects.filter(date=on).select_related("place", "vehicle").in_driving_order())
    unissued = Unissued(uninvoiced_visits(Q(date=on)), profile, today)
    drafts = due_drafts(on, on, profile, today)
    waiting: dict[int, Decimal] = defaultdict(Decimal)
    for line in unissued.lines:
        client = unissued.clients[line.part.client]
        if client.billing == Client.Billing.MONTHLY and month_end(on) != on:
            waiting[client.pk] += line.part.net
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
        warnings=warnings_of(on, on, profile),
        older=older_days(on, profile, today),
        stops=sum(visit.status != Visit.Status.CANCELLED for visit in visits),
        done=sum(visit.status == Visit.Status.DONE for visit in visits),
        planned=planned,
        is_closed=not (planned or unissued.held or daily),
    )


def older_days(before: date, profile: Profile, today: date) -> list[date]:
    """Return the days before this one with lines by the day that were mended but not issued."""
    unissued = Unissued(uninvoiced_visits(Q(date__lt=before)), profile, today)
    days = defaultdict(Decimal)
    for line in unissued.lines:
        if unissued.clients[line.part.client].billing == Client.Billing.PER_DAY:
            days[line.visit.date] += line.part.net
    return sorted(day for day, net in days.items() if net)


def warnings_of(begin: date, end: date, profile: Profile) -> list[CloseWarning]:
    """Return what looks wrong on these days, by date, then in driving order."""
    visits = list(
        Visit.objects.filter(date__gte=begin, date__lte=end)
        .exclude(status=Visit.Status.CANCELLED)
        .select_related("place", "vehicle")
        .in_driving_order()
    )
    work, materials = _by_visit(Work, visits, "service"), _by_visit(MaterialUse, visits, "item")
    readings = set(
        Reading.objects.filter(date__gte=begin, date__lte=end).values_list("date", "vehicle_id", "at")
    )
    found, asked = [], set()
    for visit in visits:
        when = day_and_month(visit.date, profile.locale)
        if visit.status == Visit.Status.PLANNED:
            found.append(
                CloseWarning(PLANNED, f"{visit.place}: planned for {when}, no entry.", visit.date, visit)
            )
            continue
        if not work[visit.pk]:
            found.append(
                CloseWarning(
                    NO_WORK, f"{visit.place}: done, but no work. Nothing is billed.", visit.date, visit
                )
            )
        found += _horse_warnings(visit, work[visit.pk], materials[visit.pk], profile.locale)
        if visit.vehicle and (visit.date, visit.vehicle_id) not in asked:
            asked.add((visit.date, visit.vehicle_id))
            found += _missing_readings(visit, readings, when)
    return found


def _by_visit(model, visits: Iterable[Visit], related: str) -> dict[int, list]:
    table = defaultdict(list)
    rows = model.objects.filter(visit__in=[visit.pk for visit in visits]).select_related(related, "horse")
    for row in rows.order_by("pk"):
        table[row.visit_id].append(row)
    return table


def _horse_warnings(
    visit: Visit, work: list[Work], uses: list[MaterialUse], locale: str
) -> list[CloseWarning]:
    found = []
    for horse in dict.fromkeys(row.horse for row in (*work, *uses)):
        done = [row for row in work if row.horse == horse]
        used = [row for row in uses if row.horse == horse]
        shoes = sum((row.quantity for row in used if row.item.kind == ItemKind.SHOE), Decimal(0))
        wanted = sum(((row.service.new_shoes or 0) * row.quantity for row in done), Decimal(0))
        named = ", ".join(str(row.service) for row in done)
        if wanted and not shoes:
            text = f"{horse}, {visit.place}: {named}, but no shoes came off the truck."
            found.append(CloseWarning(NO_SHOES, text, visit.date, visit, horse))
        elif wanted > shoes:
            missing = f"{quantity(shoes, locale)} of {quantity(wanted, locale)} shoes came off the truck."
            found.append(
                CloseWarning(
                    NO_SHOES, f"{horse}, {visit.place}: {named}, but {missing}", visit.date, visit, horse
                )
            )
        nailed = any(row.service.feet_nailed for row in done)
        if not nailed and any(row.item.kind == ItemKind.NAIL for row in used):
            text = f"{horse}, {visit.place}: nails were used, but no foot was nailed."
            found.append(CloseWarning(NAILS, text, visit.date, visit, horse))
    return found


def _missing_readings(visit: Visit, readings: set, when: str) -> list[CloseWarning]:
    missing = [at for at in Reading.At.values if (visit.date, visit.vehicle_id, at) not in readings]
    if not missing:
        return []
    text = f"{visit.vehicle}: no odometer reading at the {' and the '.join(missing)} of {when}."
    return [CloseWarning(NO_READING, text, visit.date, visit, vehicle=visit.vehicle)]
