"""What looks wrong with some days before they are closed. It is billed as it is."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from practice.lib.formats import day_and_month, quantity
from practice.lib.profile import Profile
from practice.models import Horse, MaterialUse, Reading, Service, Vehicle, Visit, Work
from stock.models import ItemKind

NO_SHOES, NAILS, NO_READING, PLANNED, NO_WORK = "no_shoes", "nails", "no_reading", "planned", "no_work"


@dataclass(frozen=True)
class CloseWarning:
    """Something that looks wrong and is billed as it is. `horse` and `vehicle` where it is about one."""

    kind: str
    text: str
    date: date
    visit: Visit
    horse: Horse | None = None
    vehicle: Vehicle | None = None

    @property
    def can_be_right(self) -> bool:
        """Whether it may be as it should be; a stop that is still planned has to be entered or moved."""
        return self.kind != PLANNED


def warnings_of(
    begin: date, end: date, profile: Profile, visits: Iterable[Visit] | None = None
) -> list[CloseWarning]:
    """Return what looks wrong on these days, by date, then in driving order.

    `visits` are all of these days, in that order and with place and vehicle, where they are at hand.
    """
    if visits is None:
        of_days = Visit.objects.filter(date__gte=begin, date__lte=end)
        visits = of_days.select_related("place", "vehicle").in_driving_order()
    visits = [visit for visit in visits if visit.status != Visit.Status.CANCELLED]
    work, materials = _by_visit(Work, visits, "service"), _by_visit(MaterialUse, visits, "item")
    readings = set(
        Reading.objects.filter(date__gte=begin, date__lte=end).values_list("date", "vehicle_id", "at")
    )
    warnings, asked = [], set()
    for visit in visits:
        when = day_and_month(visit.date, profile.locale)
        if visit.status == Visit.Status.PLANNED:
            text = f"{visit.place}: planned for {when}, but nothing is entered."
            warnings.append(CloseWarning(PLANNED, text, visit.date, visit))
            continue
        if not work[visit.pk]:
            text = f"{visit.place}: marked done, but no work is entered. Nobody is billed."
            warnings.append(CloseWarning(NO_WORK, text, visit.date, visit))
        warnings += _horse_warnings(visit, work[visit.pk], materials[visit.pk], profile.locale)
        if visit.vehicle and (visit.date, visit.vehicle_id) not in asked:
            asked.add((visit.date, visit.vehicle_id))
            warnings += _missing_readings(visit, readings, when)
    return warnings


def _by_visit(model, visits: Iterable[Visit], related: str) -> dict[int, list]:
    table = defaultdict(list)
    rows = model.objects.filter(visit__in=[visit.pk for visit in visits]).select_related(related, "horse")
    for row in rows.order_by("pk"):
        table[row.visit_id].append(row)
    return table


def _horse_warnings(
    visit: Visit, work: list[Work], uses: list[MaterialUse], locale: str
) -> Iterable[CloseWarning]:
    """Yield where the materials of a horse do not fit its work: no shoes, too few, nails without nailing."""
    for horse in dict.fromkeys(row.horse for row in (*work, *uses)):
        done = [row for row in work if row.horse == horse]
        used = [row for row in uses if row.horse == horse]
        shoes = sum((row.quantity for row in used if row.item.kind == ItemKind.SHOE), Decimal(0))
        needed = sum((_shoes_needed(row.service) * row.quantity for row in done), Decimal(0))
        services = ", ".join(str(row.service) for row in done)
        if shoes < needed:
            came = f"only {quantity(shoes, locale)} of {quantity(needed, locale)}" if shoes else "no"
            text = f"{horse}, {visit.place}: {services}, but {came} shoes came off the truck."
            yield CloseWarning(NO_SHOES, text, visit.date, visit, horse)
        nailed = any(row.service.feet_nailed for row in done)
        if not nailed and any(row.item.kind == ItemKind.NAIL for row in used):
            text = f"{horse}, {visit.place}: nails were used, but no foot was nailed."
            yield CloseWarning(NAILS, text, visit.date, visit, horse)


def _shoes_needed(service: Service) -> int:
    """Return how many shoes come off the truck for a service.

    Between two shoeings a foot is nailed because its shoe was lost.
    """
    between_shoeings = 0 if service.resets_cycle else service.feet_nailed or 0
    return max(service.new_shoes or 0, between_shoeings)


def _missing_readings(visit: Visit, readings: set, when: str) -> list[CloseWarning]:
    missing = [at for at in Reading.At.values if (visit.date, visit.vehicle_id, at) not in readings]
    if not missing:
        return []
    text = f"{visit.vehicle}: no odometer reading at the {' or the '.join(missing)} of {when}."
    return [CloseWarning(NO_READING, text, visit.date, visit, vehicle=visit.vehicle)]
