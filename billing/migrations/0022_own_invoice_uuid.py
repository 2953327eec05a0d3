import uuid

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("billing", "0021_uuids_of_issued_invoices")]
    operations = [
        migrations.AlterField(
            "invoice", "uuid", models.UUIDField(default=uuid.uuid4, editable=False, unique=True)
        ),
    ]
