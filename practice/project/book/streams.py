"""Rows of the book one after the other, so that a large file takes no more memory than a small one."""

from collections.abc import Callable, Iterable, Iterator
from itertools import islice

from django.db.models import QuerySet

# Every SQLite takes so many parameters in one query (999, from memory).
AT_ONCE = 500


def in_stream(rows: Iterable) -> Iterable:
    """Return rows to go through once: those of a query come from the database as they are asked for."""
    return rows.iterator(chunk_size=AT_ONCE) if isinstance(rows, QuerySet) else rows


def completed(rows: QuerySet, complete: Callable[[list], Iterable]) -> Iterator:
    """Yield the rows of a query after `complete` has added to them, some hundred at a time.

    `complete` returns those that stay.
    """
    coming = in_stream(rows)
    while chunk := list(islice(coming, AT_ONCE)):
        yield from complete(chunk)
