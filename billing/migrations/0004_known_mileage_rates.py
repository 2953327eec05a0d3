from django.db import migrations

from billing.actions.known_rates import bring_known_rates


def bring(apps, schema_editor):
    bring_known_rates(apps.get_model("billing", "MileageRate"))


class Migration(migrations.Migration):
    dependencies = [("billing", "0003_mileage_rates")]
    operations = [migrations.RunPython(bring, migrations.RunPython.noop)]
