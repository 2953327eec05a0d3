"""The file of entries that were entered twice and became one: their history. An import cannot undo them."""

from practice.lib.merges import Merge
from practice.project.book.columns import NAME, BookColumn, BookFile, text
from practice.project.book.values import Choice, Limited, Timestamp

MERGES = "merges.csv"


def merges() -> tuple[BookFile, ...]:
    return (
        BookFile(
            MERGES,
            (
                BookColumn("kind", Choice(Merge.Kind.values), required=True),
                text("kept", NAME, required=True),
                text("taken", NAME, required=True),
                text("name", NAME, required=True),
                BookColumn("at", Timestamp(), required=True),
                text("by", Limited(150)),
                text("moved"),
                BookColumn("undone_at", Timestamp()),
            ),
            lambda: Merge.objects.order_by("pk"),
        ),
    )
