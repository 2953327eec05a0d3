from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("billing", "0019_credit_notes")]
    operations = [
        migrations.AddField("invoice", "uuid", models.UUIDField(editable=False, null=True)),
    ]
