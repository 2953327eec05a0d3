from django.db import migrations

from practice.lib import triggers
from practice.guards import GUARDS


def make(apps, schema_editor):
    for guard in GUARDS:
        triggers.make(schema_editor, guard)


def drop(apps, schema_editor):
    for guard in GUARDS:
        triggers.drop(schema_editor, guard)


class Migration(migrations.Migration):
    dependencies = [("practice", "0003_road_entries")]
    operations = [migrations.RunPython(make, drop)]
