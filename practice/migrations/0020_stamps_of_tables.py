from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('practice', '0019_gate_codes'),
    ]

    operations = [
        migrations.DeleteModel(name='Stamp'),
        migrations.CreateModel(
            name='Stamp',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('source', models.CharField(max_length=63)),
                ('writer', models.BigIntegerField()),
                ('value', models.CharField(max_length=36)),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('source', 'writer'), name='practice_stamp_of_a_writer')],
            },
        ),
    ]
