"""The files of the road: readings, drives, what they said before, and odometers."""

from practice.models import Leg, LegChange, OdometerChange, Reading
from practice.models.road import Purpose
from practice.project.book.columns import DAY, NAME, REASON, TENTHS, Column, File, ref, text
from practice.project.book.values import Choice, Moment, Uuid


def road() -> tuple[File, ...]:
    said = (
        Column("date", DAY, required=True),
        ref("vehicle", "vehicles.csv", required=True),
        Column("start_odometer", TENTHS),
        Column("end_odometer", TENTHS),
        Column("distance", TENTHS),
        Column("purpose", Choice(Purpose.values), required=True),
        text("origin", NAME),
        text("destination", NAME),
        text("reason", REASON),
        ref("visit", "visits.csv"),
        Column("proposed", TENTHS),
    )
    recorded, changed = Column("recorded_at", Moment()), Column("changed_at", Moment())
    return (
        File(
            "readings.csv",
            (
                Column("date", DAY, required=True),
                ref("vehicle", "vehicles.csv", required=True),
                Column("at", Choice(Reading.At.values), required=True),
                Column("reading", TENTHS, required=True),
                recorded,
                changed,
            ),
            lambda: Reading.objects.select_related("vehicle").order_by("pk"),
            known_by=("date", "vehicle", "at"),
        ),
        File(
            "legs.csv",
            (*said, recorded, changed, Column("uuid", Uuid(), get=lambda row: row.known_as)),
            legs,
            filled_in=("proposed", "recorded_at", "changed_at", "uuid"),
        ),
        File(
            "leg_changes.csv",
            (
                Column("leg", Uuid(), required=True),
                Column("what", Choice(LegChange.What.values), required=True),
                Column("at", Moment(), required=True),
                *said,
                recorded,
            ),
            lambda: LegChange.objects.select_related("vehicle", "visit").order_by("pk"),
        ),
        File(
            "odometers.csv",
            (
                Column("date", DAY, required=True),
                ref("vehicle", "vehicles.csv", required=True),
                Column("last", TENTHS, required=True),
                Column("first", TENTHS, required=True),
            ),
            lambda: OdometerChange.objects.select_related("vehicle").order_by("pk"),
            known_by=("date", "vehicle"),
        ),
    )


def legs() -> list[Leg]:
    """Return the legs, each with `known_as`: its UUID where its history names it."""
    named = set(LegChange.objects.values_list("leg", flat=True))
    rows = list(Leg.objects.select_related("vehicle", "visit").order_by("pk"))
    for row in rows:
        row.known_as = row.uuid if row.uuid in named else None
    return rows
