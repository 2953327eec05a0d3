from django.db import migrations

from practice.lib import triggers
from stock.guards import GUARDS


def make(apps, schema_editor):
    for guard in GUARDS:
        triggers.make(schema_editor, guard)


def drop(apps, schema_editor):
    for guard in GUARDS:
        triggers.drop(schema_editor, guard)


class Migration(migrations.Migration):
    dependencies = [("stock", "0001_first_book")]
    operations = [migrations.RunPython(make, drop)]
