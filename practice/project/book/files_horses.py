"""The files of what is kept of a horse beside its work: photos."""

from practice.models import Photo
from practice.project.book.columns import DAY, BookColumn, BookFile, own_ref, ref, text
from practice.project.book.values import Choice, Uuid

PHOTOS = "photos.csv"


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
    )
