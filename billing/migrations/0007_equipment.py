import practice.lib.fields
import uuid
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('billing', '0006_repeating_expenses'),
    ]

    operations = [
        migrations.CreateModel(
            name='Equipment',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('uuid', models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ('ref', models.CharField(blank=True, default='', max_length=200)),
                ('name', models.CharField(max_length=200)),
                ('placed_in_service', models.DateField()),
                ('cost', practice.lib.fields.ExactField()),
                ('disposed_on', models.DateField(blank=True, null=True)),
                ('disposed_for', practice.lib.fields.ExactField(blank=True, null=True)),
                ('note', models.TextField(blank=True, default='')),
            ],
            options={
                'abstract': False,
                'constraints': [models.UniqueConstraint(condition=models.Q(('ref', ''), _negated=True), fields=('ref',), name='billing_equipment_ref_is_unique', violation_error_message='Another row has this ref.'), models.CheckConstraint(condition=models.Q(('cost__gte', 0), ('cost__isnull', True), _connector='OR'), name='billing_equipment_cost_is_not_negative'), models.CheckConstraint(condition=models.Q(('disposed_for__gte', 0), ('disposed_for__isnull', True), _connector='OR'), name='billing_equipment_disposed_for_is_not_negative'), models.CheckConstraint(condition=models.Q(('disposed_on__isnull', True), ('disposed_on__gte', models.F('placed_in_service')), _connector='OR'), name='billing_equipment_goes_after_it_came', violation_error_message='This day is before it was in use.'), models.CheckConstraint(condition=models.Q(('disposed_for__isnull', True), ('disposed_on__isnull', False), _connector='OR'), name='billing_equipment_brings_money_when_it_goes', violation_error_message='Enter the day it was sold.')],
            },
        ),
    ]
