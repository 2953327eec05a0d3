from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("practice", "0010_round_trips")]
    operations = [
        migrations.AddField(
            model_name="profile",
            name="free_renail_days",
            field=models.PositiveIntegerField(blank=True, null=True),
        ),
    ]
