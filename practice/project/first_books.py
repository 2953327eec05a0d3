"""What the first books have otherwise than the first migrations of today say.

The column that keeps facts of a day in order was one of two, and was renamed within the first migration
itself, while the first books were there already. The second said nothing that a fact's own key does not.
"""

MOVEMENTS, OLD, OLD_TOO, NEW = "stock_movement", "order_1", "order_2", "cause_order"
INDEX = "stock_movement_in_order"


def bring_to_first_migrations(connection) -> None:
    """Make the ledger of one of the first books what the first migration makes; any other is left alone."""
    with connection.cursor() as cursor:
        if MOVEMENTS not in connection.introspection.table_names(cursor):
            return
        columns = connection.introspection.get_table_description(cursor, MOVEMENTS)
        if OLD not in {column.name for column in columns}:
            return
        cursor.execute(f"DROP INDEX {INDEX}")
        cursor.execute(f"ALTER TABLE {MOVEMENTS} RENAME COLUMN {OLD} TO {NEW}")
        cursor.execute(f"ALTER TABLE {MOVEMENTS} DROP COLUMN {OLD_TOO}")
        cursor.execute(f'CREATE INDEX "{INDEX}" ON "{MOVEMENTS}" ("item_id", "date", "rank", "{NEW}", "id")')
