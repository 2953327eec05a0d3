from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("billing", "0001_first_book")]
    operations = []  # made the triggers, which practice/project/furnish.py now brings to every book
