from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("billing", "0003_mileage_rates")]
    operations = []  # added the known rates, which practice/project/furnish.py now brings to every book
