import django.db.models.deletion
import practice.lib.fields
import uuid
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('billing', '0005_receipts'),
        ('practice', '0001_first_book'),
    ]

    operations = [
        migrations.CreateModel(
            name='RepeatingExpense',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('uuid', models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ('ref', models.CharField(blank=True, default='', max_length=200)),
                ('category', models.CharField(choices=[('advertising', 'Advertising'), ('commissions', 'Commissions'), ('contract labor', 'Contract labor'), ('insurance', 'Insurance'), ('interest', 'Interest'), ('legal and professional', 'Legal and professional'), ('office', 'Office'), ('rent', 'Rent'), ('repairs and maintenance', 'Repairs and maintenance'), ('supplies', 'Supplies'), ('tools and equipment', 'Tools and equipment'), ('taxes and licenses', 'Taxes and licenses'), ('travel', 'Travel'), ('meals', 'Meals'), ('utilities', 'Utilities'), ('education', 'Education'), ('card fees', 'Card fees'), ('vehicle fuel', 'Vehicle fuel'), ('vehicle repairs', 'Vehicle repairs'), ('vehicle insurance', 'Vehicle insurance'), ('vehicle registration', 'Vehicle registration'), ('vehicle lease', 'Vehicle lease'), ('parking and tolls', 'Parking and tolls'), ('other', 'Other')], max_length=40)),
                ('amount', practice.lib.fields.ExactField()),
                ('every', models.CharField(choices=[('month', 'Every month'), ('quarter', 'Every three months'), ('year', 'Every year')], default='month', max_length=10)),
                ('valid_from', models.DateField()),
                ('valid_to', models.DateField(blank=True, null=True)),
                ('vendor', models.CharField(blank=True, default='', max_length=200)),
                ('note', models.TextField(blank=True, default='')),
                ('answered_through', models.DateField(blank=True, null=True)),
                ('vehicle', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='practice.vehicle')),
            ],
            options={
                'abstract': False,
                'constraints': [models.UniqueConstraint(condition=models.Q(('ref', ''), _negated=True), fields=('ref',), name='billing_repeatingexpense_ref_is_unique', violation_error_message='Another row has this ref.'), models.CheckConstraint(condition=models.Q(('amount__gt', 0)), name='billing_repeatingexpense_amount_is_positive'), models.CheckConstraint(condition=models.Q(('valid_to__isnull', True), ('valid_to__gte', models.F('valid_from')), _connector='OR'), name='billing_repeatingexpense_ends_after_it_begins', violation_error_message='The end is before the first due date.')],
            },
        ),
    ]
