from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('billing', '0004_known_mileage_rates'),
    ]

    operations = [
        migrations.AddField(
            model_name='expense',
            name='receipt',
            field=models.CharField(blank=True, default='', max_length=80),
        ),
    ]
