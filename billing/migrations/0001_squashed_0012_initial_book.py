"""Makes every table of this app in one step, in place of the migrations it replaces."""

import django.db.models.deletion
import django.db.models.expressions
import practice.lib.fields
import uuid
from decimal import Decimal
from django.db import migrations, models


class Migration(migrations.Migration):

    initial = True

    replaces = [
        ('billing', '0001_first_book'),
        ('billing', '0002_guards'),
        ('billing', '0003_mileage_rates'),
        ('billing', '0004_known_mileage_rates'),
        ('billing', '0005_receipts'),
        ('billing', '0006_repeating_expenses'),
        ('billing', '0007_equipment'),
        ('billing', '0008_settlement_date_index'),
        ('billing', '0009_account_days'),
        ('billing', '0010_known_account_days'),
        ('billing', '0011_packs'),
        ('billing', '0012_estimated_payments'),
    ]

    dependencies = [
        ('practice', '0001_squashed_0005_initial_book'),
        ('stock', '0001_squashed_0011_initial_book'),
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
        migrations.CreateModel(
            name='EstimatedPayment',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('uuid', models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ('ref', models.CharField(blank=True, default='', max_length=200)),
                ('date', models.DateField(db_index=True)),
                ('amount', practice.lib.fields.ExactField()),
                ('note', models.TextField(blank=True, default='')),
            ],
            options={
                'abstract': False,
                'constraints': [models.UniqueConstraint(condition=models.Q(('ref', ''), _negated=True), fields=('ref',), name='billing_estimatedpayment_ref_is_unique', violation_error_message='Another row has this ref.'), models.CheckConstraint(condition=models.Q(('amount__gt', 0)), name='billing_estimatedpayment_amount_is_positive')],
            },
        ),
        migrations.CreateModel(
            name='Invoice',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('number', models.CharField(max_length=60, unique=True)),
                ('issued', models.DateField(db_index=True)),
                ('due', models.DateField()),
                ('net', practice.lib.fields.ExactField()),
                ('tax', practice.lib.fields.ExactField()),
                ('total', practice.lib.fields.ExactField()),
                ('credit_applied', practice.lib.fields.ExactField(default=Decimal('0'))),
                ('client_name', models.CharField(blank=True, default='', max_length=200)),
                ('client_address', models.TextField(blank=True, default='')),
                ('practice_name', models.CharField(blank=True, default='', max_length=200)),
                ('practice_address', models.TextField(blank=True, default='')),
                ('client', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='invoices', to='practice.client')),
            ],
        ),
        migrations.CreateModel(
            name='InvoiceLine',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('kind', models.CharField(choices=[('service', 'Service'), ('material', 'Material'), ('travel', 'Travel')], max_length=10)),
                ('quantity', practice.lib.fields.ExactField()),
                ('unit_price', practice.lib.fields.ExactField()),
                ('share', practice.lib.fields.ExactField()),
                ('net', practice.lib.fields.ExactField()),
                ('tax_names', models.TextField(blank=True, default='')),
                ('tax_rates', models.TextField(blank=True, default='')),
                ('tax_areas', models.TextField(blank=True, default='')),
                ('client', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='lines', to='practice.client')),
                ('horse', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='lines', to='practice.horse')),
                ('invoice', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='lines', to='billing.invoice')),
                ('item', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='stock.item')),
                ('service', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='practice.service')),
                ('visit', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='lines', to='practice.visit')),
            ],
        ),
        migrations.CreateModel(
            name='MileageRate',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('scheme', models.CharField(choices=[('us_standard', 'United States, standard rate'), ('uk_simplified', 'United Kingdom, simplified expenses'), ('au_cents_per_km', 'Australia, cents per kilometre')], max_length=20)),
                ('valid_from', models.DateField()),
                ('valid_to', models.DateField(blank=True, null=True)),
                ('tier_from', practice.lib.fields.ExactField(default=Decimal('0'))),
                ('rate', practice.lib.fields.ExactField()),
                ('source', models.CharField(blank=True, default='', max_length=300)),
                ('certainty', models.CharField(blank=True, default='', max_length=200)),
                ('from_program', models.BooleanField(default=False, editable=False)),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('scheme', 'valid_from', 'tier_from'), name='billing_mileagerate_is_one_a_day_and_tier', violation_error_message='There is already a rate from that day and distance. Change it.'), models.CheckConstraint(condition=models.Q(('valid_to__isnull', True), ('valid_to__gte', models.F('valid_from')), _connector='OR'), name='billing_mileagerate_ends_after_it_begins', violation_error_message='This day is before the first one.'), models.CheckConstraint(condition=models.Q(('tier_from__gte', 0), ('tier_from__isnull', True), _connector='OR'), name='billing_mileagerate_tier_is_not_negative'), models.CheckConstraint(condition=models.Q(('rate__gte', 0), ('rate__isnull', True), _connector='OR'), name='billing_mileagerate_is_not_negative')],
            },
        ),
        migrations.CreateModel(
            name='Pack',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('year', models.PositiveSmallIntegerField()),
                ('made_on', models.DateField()),
                ('made_at', models.DateTimeField(auto_now_add=True)),
                ('figures', models.TextField()),
            ],
            options={
                'indexes': [models.Index(fields=['year', 'made_at'], name='billing_pack_by_year')],
            },
        ),
        migrations.CreateModel(
            name='Payment',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('uuid', models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ('ref', models.CharField(blank=True, default='', max_length=200)),
                ('date', models.DateField(db_index=True)),
                ('amount', practice.lib.fields.ExactField()),
                ('method', models.CharField(choices=[('cash', 'Cash'), ('check', 'Check'), ('card', 'Card'), ('transfer', 'Transfer'), ('other', 'Other')], max_length=10)),
                ('tip', practice.lib.fields.ExactField(default=Decimal('0'))),
                ('note', models.TextField(blank=True, default='')),
                ('client', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='payments', to='practice.client')),
                ('invoice', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='payments', to='billing.invoice')),
                ('visit', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='payments', to='practice.visit')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='Price',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('valid_from', models.DateField()),
                ('price', practice.lib.fields.ExactField()),
                ('item', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='prices', to='stock.item')),
                ('service', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='prices', to='practice.service')),
            ],
        ),
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
            },
        ),
        migrations.CreateModel(
            name='Settlement',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('date', models.DateField(db_index=True)),
                ('amount', practice.lib.fields.ExactField()),
                ('by_hand', models.BooleanField(default=False)),
                ('invoice', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='settlements', to='billing.invoice')),
                ('payment', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='settlements', to='billing.payment')),
            ],
        ),
        migrations.CreateModel(
            name='TaxRate',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('name', models.CharField(max_length=100)),
                ('valid_from', models.DateField()),
                ('rate', practice.lib.fields.ExactField()),
                ('valid_to', models.DateField(blank=True, null=True)),
                ('area', models.CharField(blank=True, default='', max_length=100)),
            ],
            options={
                'constraints': [models.CheckConstraint(condition=models.Q(('rate__gte', 0), ('rate__isnull', True), _connector='OR'), name='billing_taxrate_is_not_negative'), models.CheckConstraint(condition=models.Q(('valid_to__isnull', True), ('valid_to__gte', models.F('valid_from')), _connector='OR'), name='billing_taxrate_ends_after_it_begins')],
            },
        ),
        migrations.CreateModel(
            name='AccountDay',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('date', models.DateField()),
                ('open', practice.lib.fields.ExactField()),
                ('credit', practice.lib.fields.ExactField()),
                ('client', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='account_days', to='practice.client')),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('client', 'date'), name='billing_accountday_is_one_a_day'), models.CheckConstraint(condition=models.Q(('credit__gte', 0)), name='billing_accountday_credit')],
            },
        ),
        migrations.CreateModel(
            name='Expense',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('uuid', models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ('ref', models.CharField(blank=True, default='', max_length=200)),
                ('date', models.DateField(db_index=True)),
                ('category', models.CharField(choices=[('advertising', 'Advertising'), ('commissions', 'Commissions'), ('contract labor', 'Contract labor'), ('insurance', 'Insurance'), ('interest', 'Interest'), ('legal and professional', 'Legal and professional'), ('office', 'Office'), ('rent', 'Rent'), ('repairs and maintenance', 'Repairs and maintenance'), ('supplies', 'Supplies'), ('tools and equipment', 'Tools and equipment'), ('taxes and licenses', 'Taxes and licenses'), ('travel', 'Travel'), ('meals', 'Meals'), ('utilities', 'Utilities'), ('education', 'Education'), ('card fees', 'Card fees'), ('vehicle fuel', 'Vehicle fuel'), ('vehicle repairs', 'Vehicle repairs'), ('vehicle insurance', 'Vehicle insurance'), ('vehicle registration', 'Vehicle registration'), ('vehicle lease', 'Vehicle lease'), ('parking and tolls', 'Parking and tolls'), ('other', 'Other')], max_length=40)),
                ('amount', practice.lib.fields.ExactField()),
                ('vendor', models.CharField(blank=True, default='', max_length=200)),
                ('note', models.TextField(blank=True, default='')),
                ('vehicle', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='expenses', to='practice.vehicle')),
                ('receipt', models.CharField(blank=True, default='', max_length=80)),
            ],
            options={
                'abstract': False,
                'constraints': [models.UniqueConstraint(condition=models.Q(('ref', ''), _negated=True), fields=('ref',), name='billing_expense_ref_is_unique', violation_error_message='Another row has this ref.')],
            },
        ),
        migrations.AddConstraint(
            model_name='invoice',
            constraint=models.CheckConstraint(condition=models.Q(('total', django.db.models.expressions.CombinedExpression(models.F('net'), '+', models.F('tax')))), name='billing_invoice_total_is_net_and_tax'),
        ),
        migrations.AddConstraint(
            model_name='invoice',
            constraint=models.CheckConstraint(condition=models.Q(('credit_applied__gte', 0), ('credit_applied__isnull', True), _connector='OR'), name='billing_invoice_credit_is_not_negative'),
        ),
        migrations.AddConstraint(
            model_name='invoiceline',
            constraint=models.CheckConstraint(condition=models.Q(('quantity__gt', 0)), name='billing_invoiceline_quantity_is_positive'),
        ),
        migrations.AddConstraint(
            model_name='invoiceline',
            constraint=models.CheckConstraint(condition=models.Q(('unit_price__gte', 0), ('unit_price__isnull', True), _connector='OR'), name='billing_invoiceline_unit_price_is_not_negative'),
        ),
        migrations.AddConstraint(
            model_name='invoiceline',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('item__isnull', True), ('kind', 'service'), ('service__isnull', False)), models.Q(('item__isnull', False), ('kind', 'material'), ('service__isnull', True)), models.Q(('item__isnull', True), ('kind', 'travel'), ('service__isnull', True)), _connector='OR'), name='billing_invoiceline_names_what_its_kind_says'),
        ),
        migrations.AddConstraint(
            model_name='payment',
            constraint=models.UniqueConstraint(condition=models.Q(('ref', ''), _negated=True), fields=('ref',), name='billing_payment_ref_is_unique', violation_error_message='Another row has this ref.'),
        ),
        migrations.AddConstraint(
            model_name='payment',
            constraint=models.CheckConstraint(condition=models.Q(('tip__gte', 0), ('tip__isnull', True), _connector='OR'), name='billing_payment_tip_is_not_negative'),
        ),
        migrations.AddConstraint(
            model_name='price',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('item__isnull', False), ('service__isnull', True)), models.Q(('item__isnull', True), ('service__isnull', False)), _connector='OR'), name='billing_price_is_of_a_service_or_an_item'),
        ),
        migrations.AddConstraint(
            model_name='price',
            constraint=models.CheckConstraint(condition=models.Q(('price__gte', 0), ('price__isnull', True), _connector='OR'), name='billing_price_is_not_negative'),
        ),
        migrations.AddConstraint(
            model_name='repeatingexpense',
            constraint=models.UniqueConstraint(condition=models.Q(('ref', ''), _negated=True), fields=('ref',), name='billing_repeatingexpense_ref_is_unique', violation_error_message='Another row has this ref.'),
        ),
        migrations.AddConstraint(
            model_name='repeatingexpense',
            constraint=models.CheckConstraint(condition=models.Q(('amount__gt', 0)), name='billing_repeatingexpense_amount_is_positive'),
        ),
        migrations.AddConstraint(
            model_name='repeatingexpense',
            constraint=models.CheckConstraint(condition=models.Q(('valid_to__isnull', True), ('valid_to__gte', models.F('valid_from')), _connector='OR'), name='billing_repeatingexpense_ends_after_it_begins', violation_error_message='The end is before the first due date.'),
        ),
    ]
