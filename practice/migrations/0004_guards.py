from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("practice", "0003_road_entries")]
    operations = []  # made the triggers, which practice/project/furnish.py now brings to every book
