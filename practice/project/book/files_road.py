"""The files of the road: readings, drives, earlier versions of them, and odometers."""

from collections.abc import Iterator

from practice.models import Leg, LegChange, OdometerChange, Reading
from practice.models.road import Purpose
from practice.project.book.columns import DAY, NAME, REASON, TENTHS, BookColumn, BookFile, ref, text
from practice.project.book.streams import in_stream
from practice.project.book.values import Choice, Timestamp, Uuid


def road() -> tuple[BookFile, ...]:
    of_a_leg = (
        BookColumn("date", DAY, required=True),
        ref("vehicle", "vehicles.csv", required=True),
        BookColumn("start_odometer", TENTHS),
        BookColumn("end_odometer", TENTHS),
        BookColumn("distance", TENTHS),
        BookColumn("purpose", Choice(Purpose.values), required=True),
        text("origin", NAME),
        text("destination", NAME),
        text("reason", REASON),
        ref("visit", "visits.csv"),
        BookColumn("proposed", TENTHS),
    )
    recorded, changed = BookColumn("recorded_at", Timestamp()), BookColumn("changed_at", Timestamp())
    return (
        BookFile(
            "readings.csv",
            (
                BookColumn("date", DAY, required=True),
                ref("vehicle", "vehicles.csv", required=True),
                BookColumn("at", Choice(Reading.At.values), required=True),
                BookColumn("reading", TENTHS, required=True),
                recorded,
                changed,
            ),
            lambda: Reading.objects.select_related("vehicle").order_by("pk"),
            known_by=("date", "vehicle", "at"),
        ),
        BookFile(
            "legs.csv",
            (*of_a_leg, recorded, changed, BookColumn("uuid", Uuid(), get=lambda row: row.known_as)),
            legs,
            filled_in=("proposed", "recorded_at", "changed_at", "uuid"),
        ),
        BookFile(
            "leg_changes.csv",
            (
                BookColumn("leg", Uuid(), required=True),
                BookColumn("what", Choice(LegChange.What.values), required=True),
                BookColumn("at", Timestamp(), required=True),
                *of_a_leg,
                recorded,
            ),
            lambda: LegChange.objects.select_related("vehicle", "visit").order_by("pk"),
        ),
        BookFile(
            "odometers.csv",
            (
                BookColumn("date", DAY, required=True),
                ref("vehicle", "vehicles.csv", required=True),
                BookColumn("last", TENTHS, required=True),
                BookColumn("first", TENTHS, required=True),
            ),
            lambda: OdometerChange.objects.select_related("vehicle").order_by("pk"),
            known_by=("date", "vehicle"),
        ),
    )


def legs() -> Iterator[Leg]:
    """Yield the legs, each with `known_as`: its UUID if its history names it."""
    named = set(LegChange.objects.values_list("leg", flat=True))
    for row in in_stream(Leg.objects.select_related("vehicle", "visit").order_by("pk")):
        row.known_as = row.uuid if row.uuid in named else None
        yield row
