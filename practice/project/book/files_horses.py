"""The files of what is kept of a horse beside its work: photos, how its feet were shod and are to be."""

from decimal import Decimal

from practice.models import Clips, Foot, FootRecord, Photo, Prescription, Service
from practice.project.book.columns import DAY, NAME, BookColumn, BookFile, dated, own_ref, ref, text
from practice.project.book.values import Choice, Number, Uuid, Whole

PHOTOS, FEET, PRESCRIPTIONS = "photos.csv", "foot_records.csv", "prescriptions.csv"
MEASURE, NAILS = Number(low=Decimal(0), above=True), Whole(0, 99)


def of_horses() -> tuple[BookFile, ...]:
    named = ("horse", "visit", "finding")
    return (
        BookFile(
            PHOTOS,
            (
                own_ref(),
                ref("horse", "horses.csv", required=True),
                ref("visit", "visits.csv"),
                BookColumn("finding", Uuid(), get=lambda row: row.finding.uuid if row.finding else None),
                BookColumn("what", Choice(Photo.What.values), required=True),
                text("note"),
                BookColumn("taken_on", DAY, required=True),
            ),
            lambda: Photo.objects.select_related(*named).order_by("pk"),
            known_by=("ref",),
        ),
        BookFile(
            FEET,
            (
                ref("visit", "visits.csv", required=True),
                ref("horse", "horses.csv", required=True),
                BookColumn("foot", Choice(Foot.values), required=True),
                text("shoe", NAME),
                BookColumn("fitted", Choice(Service.Fitted.values), default=""),
                text("fit", NAME),
                BookColumn("nails_outside", NAILS),
                BookColumn("nails_inside", NAILS),
                BookColumn("clips", Choice(Clips.values), default=""),
                text("pad", NAME),
                text("packing", NAME),
                BookColumn("angle", MEASURE),
                BookColumn("toe_length", MEASURE),
                BookColumn("toe_unit", Choice(FootRecord.Unit.values), default=""),
                text("note"),
            ),
            lambda: FootRecord.objects.select_related("visit__place", "visit", "horse").order_by("pk"),
            known_by=("visit", "horse", "foot"),
        ),
        BookFile(
            PRESCRIPTIONS,
            (
                own_ref(),
                ref("horse", "horses.csv", required=True),
                BookColumn("foot", Choice(Foot.values), required=True),
                ref("item", "items.csv"),
                text("shoe", NAME),
                BookColumn("clips", Choice(Clips.values), default=""),
                text("pad", NAME),
                text("packing", NAME),
                BookColumn("angle", MEASURE),
                text("note"),
                text("by", NAME),
                dated("from", "valid_from", required=True),
                dated("to", "valid_to"),
            ),
            lambda: Prescription.objects.select_related("horse", "item").order_by("pk"),
            known_by=("ref",),
            updates=True,
        ),
    )
