"""The files of the days: visits, what was done, the road, and facts of stock."""

from collections.abc import Iterator
from functools import partial

from practice.lib.choices import ValuationMethod
from practice.models import (
    Finding,
    Foot,
    HorseTime,
    MaterialReturn,
    MaterialUse,
    Photo,
    Visit,
    Work,
    Zone,
)
from practice.project.book.columns import (
    DAY,
    NAME,
    NOT_NEGATIVE,
    ONE,
    POSITIVE,
    SHORT,
    BookColumn,
    BookFile,
    dated,
    own_ref,
    ref,
    text,
    through,
    yes_no,
)
from practice.project.book.files_road import road
from practice.project.book.streams import completed, in_stream
from practice.project.book.values import (
    Choice,
    TimeOfDay,
    Timestamp,
    Uuid,
    Whole,
)
from stock.models import Found, Location, Movement, MovementKind, Purchase, ValuationChange


def days() -> tuple[BookFile, ...]:
    horse_at = ("visit__place", "visit", "horse")
    return (
        BookFile(
            "visits.csv",
            (
                own_ref(),
                BookColumn("date", DAY, required=True),
                ref("place", "places.csv", required=True),
                BookColumn("status", Choice(Visit.Status.values), required=True),
                BookColumn("arrive", TimeOfDay()),
                BookColumn("leave", TimeOfDay()),
                ref("vehicle", "vehicles.csv"),
                yes_no("billed"),
                text("note"),
                BookColumn("position", Whole(0, 9999)),
                BookColumn("arrived", TimeOfDay()),
            ),
            lambda: Visit.objects.select_related("place", "vehicle").order_by("pk"),
            known_by=("ref",),
        ),
        BookFile(
            "work.csv",
            (
                ref("visit", "visits.csv", required=True),
                ref("horse", "horses.csv", required=True),
                ref("service", "services.csv", required=True),
                BookColumn("quantity", POSITIVE, default=ONE),
                BookColumn("price", NOT_NEGATIVE),
                text("note"),
            ),
            lambda: Work.objects.select_related("visit", "horse", "service").order_by("pk"),
        ),
        BookFile(
            "materials.csv",
            (
                ref("visit", "visits.csv", required=True),
                ref("horse", "horses.csv", required=True),
                ref("item", "items.csv", required=True),
                BookColumn("quantity", POSITIVE, required=True),
                BookColumn("foot", Choice(Foot.values), default=""),
                BookColumn("price", NOT_NEGATIVE),
                ref("location", "locations.csv", get=lambda row: row.left_from),
            ),
            materials,
            filled_in=("location",),
        ),
        BookFile(
            "findings.csv",
            (
                ref("visit", "visits.csv", required=True),
                ref("horse", "horses.csv", required=True),
                BookColumn("foot", Choice([*Foot.values, "all"]), required=True),
                BookColumn("zone", Choice(Zone.values), required=True),
                text("kind", NAME, required=True),
                text("note"),
                yes_no("refer_to_vet"),
                BookColumn("resolved_on", DAY),
                text("marked", SHORT),
                text("told_who", NAME),
                BookColumn("told_at", Timestamp()),
                BookColumn("uuid", Uuid(), get=lambda row: row.known_as),
            ),
            partial(findings, horse_at),
            filled_in=("resolved_on", "marked", "told_who", "told_at", "uuid"),
        ),
        BookFile(
            "horse_times.csv",
            (
                ref("visit", "visits.csv", required=True),
                ref("horse", "horses.csv", required=True),
                BookColumn("began", TimeOfDay(), required=True),
                BookColumn("finished", TimeOfDay(), required=True),
            ),
            lambda: HorseTime.objects.select_related("visit", "horse").order_by("pk"),
            known_by=("visit", "horse"),
        ),
        *road(),
    )


def materials() -> Iterator[MaterialUse]:
    """Yield the uses, each with `left_from`: the key of the location it left, if it would now leave another.

    A use stays where it was recorded; its visit's vehicle may have become a location later.
    """
    named = ("visit__vehicle__location", "horse", "item", "movement__location")
    first = Location.objects.order_by("pk").first()
    for row in in_stream(MaterialUse.objects.select_related(*named).order_by("pk")):
        vehicle = row.visit.vehicle
        now = (vehicle.location if vehicle else None) or first
        left = (row.movement.location or first) if row.movement else now
        row.left_from = left.key if left != now else None
        yield row


def findings(related: tuple[str, ...]) -> Iterator[Finding]:
    """Yield the findings, each with `known_as`: its UUID if a photo names it."""
    named = set(Photo.objects.exclude(finding=None).values_list("finding", flat=True))
    for row in in_stream(Finding.objects.select_related(*related).order_by("pk")):
        row.known_as = row.uuid if row.pk in named else None
        yield row


REVERSIBLE = [kind for kind in MovementKind.values if kind != MovementKind.REVERSAL]
FACT_KINDS = ["visit return", "supplier return", "waste", "withdrawal", "transfer", "reversal"]


def facts() -> tuple[BookFile, ...]:
    return (
        BookFile(
            "valuations.csv",
            (
                dated("from", "valid_from", required=True),
                BookColumn("method", Choice(ValuationMethod.values()), required=True),
            ),
            lambda: ValuationChange.objects.order_by("valid_from"),
            known_by=("from",),
        ),
        BookFile(
            "purchases.csv",
            (
                BookColumn("date", DAY, required=True, get=through("movement.date")),
                ref("item", "items.csv", required=True, get=through("movement.item.key")),
                BookColumn("quantity", POSITIVE, required=True, get=through("movement.quantity")),
                BookColumn("unit_cost", NOT_NEGATIVE, required=True, get=through("movement.unit_cost")),
                ref("supplier", "suppliers.csv"),
                text("reference", NAME),
                BookColumn("paid_on", DAY),
                ref("location", "locations.csv", get=through("movement.location.key")),
                ref("order", "orders.csv", get=through("order_line.order.key")),
                text("lot", SHORT),
                BookColumn("use_by", DAY),
            ),
            lambda: Purchase.objects.select_related(
                "movement__item", "movement__location", "supplier", "order_line__order"
            ).order_by("movement"),
        ),
        BookFile(
            "counts.csv",
            (
                BookColumn("date", DAY, required=True),
                ref("item", "items.csv", required=True),
                BookColumn("quantity", NOT_NEGATIVE, required=True),
                BookColumn("unit_cost", NOT_NEGATIVE),
                ref("location", "locations.csv"),
            ),
            counts,
            known_by=("date", "item", "location"),
        ),
        BookFile(
            "count_sheets.csv",
            (
                ref("item", "items.csv", required=True),
                ref("location", "locations.csv"),
                BookColumn("date", DAY, required=True),
                BookColumn("quantity", NOT_NEGATIVE, required=True),
                BookColumn("unit_cost", NOT_NEGATIVE),
            ),
            lambda: Found.objects.select_related("item", "location").order_by("pk"),
            known_by=("item", "location"),
            updates=True,
        ),
        BookFile(
            "stock_facts.csv",
            (
                BookColumn("date", DAY, required=True),
                ref("item", "items.csv", required=True),
                BookColumn("kind", Choice(FACT_KINDS), required=True),
                BookColumn("quantity", POSITIVE, required=True),
                ref("location", "locations.csv"),
                ref("to_location", "locations.csv"),
                ref("visit", "visits.csv", get=lambda row: row.visit_key),
                ref("horse", "horses.csv", get=lambda row: row.horse_key),
                BookColumn("reverses", Choice(REVERSIBLE), default="", get=through("reversed_kind")),
                text("note"),
                BookColumn("reverses_date", DAY, get=through("reversed_date")),
            ),
            stock_facts,
        ),
    )


def counts() -> Iterator[Movement]:
    """Yield the last count of each location, item and day; those before it were undone."""
    last = last_counts()
    rows = Movement.objects.filter(kind=MovementKind.COUNT).select_related("item", "location").order_by("pk")
    return (row for row in in_stream(rows) if row.pk in last)


def last_counts() -> set[int]:
    """Return the keys of the counts that no later one of the same location, item and day replaced."""
    rows = Movement.objects.filter(kind=MovementKind.COUNT).order_by("pk")
    return set({row[1:]: row[0] for row in rows.values_list("pk", "date", "item", "location")}.values())


def stock_facts() -> Iterator[Movement]:
    """Yield the facts that no other file holds, with the keys of their visit and horse.

    A reversal is one if the fact it undoes is exported: not one of a use that no visit has any more, or
    of a count that a later one replaced.
    """
    rows = Movement.objects.filter(kind__in=FACT_KINDS).order_by("pk")
    named = rows.select_related("item", "location", "to_location", "reverses")
    return completed(named, partial(_exported_facts, last_counts()))


def _exported_facts(counted: set[int], rows: list[Movement]) -> Iterator[Movement]:
    returns = MaterialReturn.objects.filter(movement__in=rows).select_related("visit", "horse")
    of_movement = {row.movement_id: row for row in returns}
    undone = [row.reverses_id for row in rows if row.reverses_id]
    in_use = set(MaterialUse.objects.filter(movement__in=undone).values_list("movement", flat=True))
    exported = {MovementKind.USE: in_use, MovementKind.COUNT: counted}
    for row in rows:
        undone = row.reverses
        if undone and undone.pk not in exported.get(undone.kind, {undone.pk}):
            continue
        of = of_movement.get(row.pk)
        row.visit_key, row.horse_key = (of.visit.key, of.horse.key) if of else (None, None)
        row.reversed_kind = undone.kind if undone else ""
        row.reversed_date = undone.date if undone and undone.date != row.date else None
        yield row
