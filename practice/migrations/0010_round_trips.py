from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("practice", "0009_press")]
    operations = [
        migrations.AlterField(
            model_name="profile",
            name="travel_rule",
            field=models.CharField(
                choices=[
                    ("none", "Travel is not charged"),
                    ("per_visit", "An amount per visit"),
                    ("per_distance", "A rate for the distance driven to reach it"),
                    ("round_trip", "A rate for the distance driven there, and a share of the way back"),
                ],
                default="none",
                max_length=20,
            ),
        ),
    ]
