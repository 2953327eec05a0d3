"""Many new rows into a table at once."""

from collections.abc import Iterable

from django.db import connection
from django.db.models import Model


def insert(rows: Iterable[Model]) -> None:
    """Save new rows of one model; the rows themselves do not learn their keys.

    One statement for all: `bulk_create` makes one for every hundred rows or so, and asks for the keys.
    """
    rows = list(rows)
    if not rows:
        return
    fields = [field for field in rows[0]._meta.concrete_fields if not field.primary_key]
    columns = ", ".join(connection.ops.quote_name(field.column) for field in fields)
    table = connection.ops.quote_name(rows[0]._meta.db_table)
    marks = ", ".join(["%s"] * len(fields))
    with connection.cursor() as cursor:
        cursor.executemany(
            f"INSERT INTO {table} ({columns}) VALUES ({marks})",
            [
                [field.get_db_prep_save(field.pre_save(row, add=True), connection) for field in fields]
                for row in rows
            ],
        )
