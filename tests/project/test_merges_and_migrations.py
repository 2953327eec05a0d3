"""Migrations come through although triggers of other tables name the table of merges, and these come back."""

import pytest
from django.db import connection, models

from practice.lib.merges import Merge
from practice.lib.triggers import let_go_of_merges
from practice.project.furnish import furnish


def triggers() -> int:
    is_sqlite = connection.vendor == "sqlite"
    table, name = ("sqlite_master", "name") if is_sqlite else ("pg_trigger", "tgname")
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT COUNT(*) FROM {table} WHERE {name} LIKE '%_no_update'")
        return cursor.fetchone()[0]


@pytest.mark.django_db(transaction=True)
def test_a_migration_may_alter_the_table_of_merges():
    before = triggers()
    kept, longer = Merge._meta.get_field("name"), models.CharField(max_length=250)
    longer.set_attributes_from_name("name")

    let_go_of_merges(connection)
    for old, new in ((kept, longer), (longer, kept)):
        with connection.schema_editor() as editor:
            editor.alter_field(Merge, old, new)
    furnish()

    assert triggers() == before > 4
