from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("billing", "0007_equipment")]

    operations = [
        migrations.AlterField(
            model_name="settlement", name="date", field=models.DateField(db_index=True)
        ),
    ]
