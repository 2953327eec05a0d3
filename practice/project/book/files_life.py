"""The file of what became of horses and clients. An import cannot undo it."""

from practice.models import LifeEvent
from practice.project.book.columns import DAY, BookColumn, BookFile, ref, text
from practice.project.book.values import Choice, Limited, Timestamp

LIFE = "life_events.csv"


def life() -> tuple[BookFile, ...]:
    return (
        BookFile(
            LIFE,
            (
                BookColumn("date", DAY, required=True),
                BookColumn("kind", Choice(LifeEvent.Kind.values), required=True),
                ref("horse", "horses.csv"),
                ref("client", "clients.csv"),
                ref("place", "places.csv"),
                text("note"),
                BookColumn("at", Timestamp()),
                text("by", Limited(150)),
            ),
            lambda: LifeEvent.objects.select_related("horse", "client", "place").order_by("pk"),
        ),
    )
