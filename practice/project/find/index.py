"""The index of names and phone numbers: made, kept up to date, and the pieces that find words with slips."""

import logging
from collections import defaultdict
from collections.abc import Iterable
from heapq import nlargest

from django.db import DatabaseError, OperationalError, connection, transaction
from django.db.models import F, FloatField, Func, Value

from practice.models.find import FindEntry, FindNote
from practice.project.find.folding import padded, pieces
from practice.project.find.kinds import KINDS
from practice.project.find.watching import bring_watchers

PIECES = "find_pieces"
BATCH = 500
HAS_PIECES = {
    "sqlite": f"SELECT 1 FROM sqlite_master WHERE name = '{PIECES}'",
    "postgresql": "SELECT 1 WHERE to_regprocedure('word_similarity(text,text)') IS NOT NULL",
}
# SQLite from 3.34 on, where it was built with FTS5; on PostgreSQL an administrator may have to allow it.
MAKE_PIECES = {
    "sqlite": f"CREATE VIRTUAL TABLE {PIECES} USING fts5(text, tokenize = 'trigram')",
    "postgresql": "CREATE EXTENSION IF NOT EXISTS pg_trgm",
}
logger = logging.getLogger(__name__)


def bring_index() -> None:
    """Bring a book the triggers, the pieces and the index where they are missing or older than the code."""
    was_behind = bring_watchers(connection)
    if bring_pieces() or was_behind:
        index_all()


def has_pieces() -> bool:
    """Whether the database compares pieces of three letters; without that, words are compared one by one."""
    with connection.cursor() as cursor:
        cursor.execute(HAS_PIECES[connection.vendor])
        return cursor.fetchone() is not None


def bring_pieces() -> bool:
    """Let the database compare pieces where it can; return whether it can now, and could not before."""
    if has_pieces():
        return False
    try:
        with transaction.atomic(), connection.cursor() as cursor:
            cursor.execute(MAKE_PIECES[connection.vendor])
    except DatabaseError as error:
        logger.info("The search compares word by word: %s", error)
        return False
    return True


@transaction.atomic
def index_all() -> None:
    """Make the whole index anew."""
    FindNote.objects.all().delete()
    FindEntry.objects.all().delete()
    if holds_pieces():
        with connection.cursor() as cursor:
            cursor.execute(f"DELETE FROM {PIECES}")
    for code, kind in KINDS.items():
        add_entries(code, kind.model._base_manager.order_by("pk").iterator(BATCH))


def holds_pieces() -> bool:
    """Whether there is a table of pieces beside the entries."""
    return connection.vendor == "sqlite" and has_pieces()


def catch_up() -> None:
    """Index what changed since the last time. Where the book takes no writes now, the index stays."""
    if not FindNote.objects.exists():
        return
    try:
        index_noted()
    except OperationalError as error:
        logger.warning("The search is behind: %s", error)


@transaction.atomic
def index_noted() -> None:
    """Index the rows that were noted; who comes second finds no notes left."""
    changed, notes = defaultdict(set), list(FindNote.objects.select_for_update().order_by("pk"))
    for note in notes:
        changed[note.kind].add(note.key)
    for code, keys in changed.items():
        for batch in batches(sorted(keys)):
            drop_entries(code, batch)
            add_entries(code, KINDS[code].model._base_manager.filter(pk__in=batch))
    for batch in batches([note.pk for note in notes]):
        FindNote.objects.filter(pk__in=batch).delete()


def batches(keys: list[int]) -> Iterable[list[int]]:
    return (keys[first : first + BATCH] for first in range(0, len(keys), BATCH))


def drop_entries(code: str, keys: list[int]) -> None:
    entries = FindEntry.objects.filter(kind=code, key__in=keys)
    if holds_pieces():
        with connection.cursor() as cursor:
            gone = [(key,) for key in entries.values_list("pk", flat=True)]
            cursor.executemany(f"DELETE FROM {PIECES} WHERE rowid = %s", gone)
    entries.delete()


def add_entries(code: str, rows: Iterable) -> None:
    """Index rows of one kind, none of which has an entry."""
    made = FindEntry.objects.bulk_create(
        [entry for row in rows for entry in KINDS[code].entries(code, row)], batch_size=BATCH
    )
    if holds_pieces():
        names = [(entry.pk, padded(entry.text)) for entry in made if entry.way == FindEntry.Way.NAME]
        with connection.cursor() as cursor:
            # An entry that a test or a restore took away may have left its pieces under the same key.
            cursor.executemany(f"INSERT OR REPLACE INTO {PIECES} (rowid, text) VALUES (%s, %s)", names)


def near(words: str, most: int) -> list[FindEntry]:
    """Return the names that have most pieces in common with folded words, the rarest counting most."""
    names = FindEntry.objects.filter(way=FindEntry.Way.NAME)
    if not has_pieces():
        asked = pieces(words)
        return nlargest(most, names, key=lambda entry: len(asked & pieces(entry.text)))
    if connection.vendor == "sqlite":
        asked = " OR ".join(f'"{piece}"' for piece in sorted(pieces(words)))
        with connection.cursor() as cursor:
            cursor.execute(
                f"SELECT rowid FROM {PIECES} WHERE text MATCH %s ORDER BY rank LIMIT %s", [asked, most]
            )
            return list(names.filter(pk__in=[key for (key,) in cursor.fetchall()]))
    likeness = Func(Value(words), F("text"), function="word_similarity", output_field=FloatField())
    return list(names.annotate(likeness=likeness).order_by("-likeness")[:most])
