"""Makes every table of this app in one step, in place of the migrations it replaces."""

import django.db.models.deletion
import practice.lib.fields
import uuid
from decimal import Decimal
from django.db import migrations, models


class Migration(migrations.Migration):

    initial = True

    replaces = [
        ('stock', '0001_first_book'),
        ('stock', '0002_guards'),
        ('stock', '0003_checkpoints'),
        ('stock', '0004_orders'),
        ('stock', '0005_count_sheets'),
        ('stock', '0006_balances_of_a_location'),
        ('stock', '0007_valuation_changes'),
        ('stock', '0008_lots'),
        ('stock', '0009_purchases_that_go_off'),
        ('stock', '0010_material_and_clips'),
        ('stock', '0011_purchases_by_payment'),
    ]

    dependencies = []

    operations = [
        migrations.CreateModel(
            name='ValuationChange',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('valid_from', models.DateField(unique=True)),
                ('method', models.CharField(choices=[('moving_average', 'Moving weighted average'), ('fifo', 'First in, first out')], max_length=20)),
            ],
        ),
        migrations.CreateModel(
            name='Location',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('uuid', models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ('ref', models.CharField(blank=True, default='', max_length=200)),
                ('name', models.CharField(max_length=200)),
            ],
            options={
                'abstract': False,
                'constraints': [models.UniqueConstraint(condition=models.Q(('ref', ''), _negated=True), fields=('ref',), name='stock_location_ref_is_unique', violation_error_message='Another row has this ref.')],
            },
        ),
        migrations.CreateModel(
            name='Supplier',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('uuid', models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ('ref', models.CharField(blank=True, default='', max_length=200)),
                ('archived', models.BooleanField(default=False)),
                ('name', models.CharField(max_length=200)),
                ('email', models.CharField(blank=True, default='', max_length=254)),
                ('phone', models.CharField(blank=True, default='', max_length=60)),
                ('lead_time_days', models.PositiveIntegerField(blank=True, null=True)),
            ],
            options={
                'abstract': False,
                'constraints': [models.UniqueConstraint(condition=models.Q(('ref', ''), _negated=True), fields=('ref',), name='stock_supplier_ref_is_unique', violation_error_message='Another row has this ref.')],
            },
        ),
        migrations.CreateModel(
            name='Item',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('uuid', models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ('ref', models.CharField(blank=True, default='', max_length=200)),
                ('archived', models.BooleanField(default=False)),
                ('name', models.CharField(max_length=200)),
                ('kind', models.CharField(choices=[('shoe', 'Shoe'), ('nail', 'Nail'), ('pad', 'Pad'), ('packing', 'Packing'), ('sealant', 'Sealant'), ('adhesive', 'Adhesive'), ('stud', 'Stud'), ('bar stock', 'Bar stock'), ('casting', 'Casting'), ('fuel', 'Forge fuel'), ('other', 'Other')], max_length=20)),
                ('pattern', models.CharField(blank=True, default='', max_length=100)),
                ('size', models.CharField(blank=True, default='', max_length=40)),
                ('fits', models.CharField(choices=[('front', 'Front'), ('hind', 'Hind'), ('any', 'Front or hind')], default='any', max_length=5)),
                ('side', models.CharField(choices=[('left', 'Left'), ('right', 'Right'), ('any', 'Left or right')], default='any', max_length=5)),
                ('unit', models.CharField(default='each', max_length=20)),
                ('pack_size', practice.lib.fields.ExactField(default=Decimal('1'))),
                ('lead_time_days', models.PositiveIntegerField(blank=True, null=True)),
                ('service_level', practice.lib.fields.ExactField(default=Decimal('0.95'))),
                ('sale_price', practice.lib.fields.ExactField(blank=True, null=True)),
                ('taxable', models.BooleanField(default=False)),
                ('supplier', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='items', to='stock.supplier')),
                ('shelf_order', models.PositiveIntegerField(blank=True, null=True)),
                ('clips', models.CharField(blank=True, default='', max_length=40)),
                ('material', models.CharField(blank=True, default='', max_length=40)),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='Order',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('uuid', models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ('ref', models.CharField(blank=True, default='', max_length=200)),
                ('ordered_on', models.DateField()),
                ('note', models.TextField(blank=True, default='')),
                ('supplier', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='orders', to='stock.supplier')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='Movement',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('date', models.DateField()),
                ('kind', models.CharField(choices=[('receipt', 'Receipt'), ('visit return', 'Return from a visit'), ('use', 'Use'), ('supplier return', 'Return to a supplier'), ('waste', 'Waste'), ('withdrawal', 'Withdrawal (own horses)'), ('transfer', 'Transfer'), ('count', 'Count'), ('reversal', 'Reversal')], max_length=20)),
                ('quantity', practice.lib.fields.ExactField()),
                ('unit_cost', practice.lib.fields.ExactField(blank=True, null=True)),
                ('job', models.CharField(blank=True, default='', max_length=60)),
                ('rank', models.PositiveSmallIntegerField()),
                ('cause_order', models.BigIntegerField(default=0)),
                ('note', models.TextField(blank=True, default='')),
                ('recorded_at', models.DateTimeField(auto_now_add=True)),
                ('item', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='movements', to='stock.item')),
                ('location', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='stock.location')),
                ('reverses', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='reversal', to='stock.movement')),
                ('to_location', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='stock.location')),
            ],
        ),
        migrations.CreateModel(
            name='Checkpoint',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('positions', models.BigIntegerField()),
                ('state', models.JSONField()),
                ('item', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='checkpoints', to='stock.item')),
                ('through', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='stock.movement')),
            ],
        ),
        migrations.CreateModel(
            name='OrderLine',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('quantity', practice.lib.fields.ExactField()),
                ('pack_size', practice.lib.fields.ExactField()),
                ('unit_price', practice.lib.fields.ExactField(blank=True, null=True)),
                ('cancelled', practice.lib.fields.ExactField(default=Decimal('0'))),
                ('item', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='order_lines', to='stock.item')),
                ('order', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='lines', to='stock.order')),
            ],
        ),
        migrations.CreateModel(
            name='Shelf',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('on_hand', practice.lib.fields.ExactField(default=Decimal('0'))),
                ('value', practice.lib.fields.ExactField(default=Decimal('0'))),
                ('positions', models.BigIntegerField(default=0)),
                ('state', models.JSONField(default=dict)),
                ('item', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='shelf', to='stock.item')),
                ('through', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='stock.movement')),
            ],
        ),
        migrations.CreateModel(
            name='Purchase',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('reference', models.CharField(blank=True, default='', max_length=200)),
                ('paid_on', models.DateField(blank=True, null=True)),
                ('movement', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='purchase', to='stock.movement')),
                ('supplier', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='purchases', to='stock.supplier')),
                ('order_line', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='receipts', to='stock.orderline')),
                ('lot', models.CharField(blank=True, default='', max_length=60)),
                ('use_by', models.DateField(blank=True, null=True)),
            ],
        ),
        migrations.CreateModel(
            name='Valuation',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('position', models.BigIntegerField()),
                ('kind', models.CharField(max_length=20)),
                ('quantity', practice.lib.fields.ExactField()),
                ('cost', practice.lib.fields.ExactField()),
                ('on_hand', practice.lib.fields.ExactField()),
                ('value', practice.lib.fields.ExactField()),
                ('item', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='ledger', to='stock.item')),
                ('location', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='stock.location')),
                ('movement', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='valuations', to='stock.movement')),
            ],
        ),
        migrations.CreateModel(
            name='Found',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('date', models.DateField()),
                ('quantity', practice.lib.fields.ExactField()),
                ('unit_cost', practice.lib.fields.ExactField(blank=True, null=True)),
                ('item', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='stock.item')),
                ('location', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='stock.location')),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('item', 'location'), name='stock_found_once_at_a_location'), models.UniqueConstraint(condition=models.Q(('location__isnull', True)), fields=('item',), name='stock_found_once_on_the_shelf'), models.CheckConstraint(condition=models.Q(('quantity__gte', 0), ('quantity__isnull', True), _connector='OR'), name='stock_found_quantity_is_not_negative'), models.CheckConstraint(condition=models.Q(('unit_cost__gte', 0), ('unit_cost__isnull', True), _connector='OR'), name='stock_found_unit_cost_is_not_negative')],
            },
        ),
        migrations.CreateModel(
            name='Balance',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('quantity', practice.lib.fields.ExactField(default=Decimal('0'))),
                ('item', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='balances', to='stock.item')),
                ('location', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='balances', to='stock.location')),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('item', 'location'), name='stock_balance_of_a_location'), models.UniqueConstraint(condition=models.Q(('location__isnull', True)), fields=('item',), name='stock_balance_of_the_shelf')],
            },
        ),
        migrations.AddIndex(
            model_name='movement',
            index=models.Index(fields=['item', 'date', 'rank', 'cause_order', 'id'], name='stock_movement_in_order'),
        ),
        migrations.AddConstraint(
            model_name='movement',
            constraint=models.CheckConstraint(condition=models.Q(('quantity__gte', 0), ('quantity__isnull', True), _connector='OR'), name='stock_movement_quantity_is_not_negative'),
        ),
        migrations.AddConstraint(
            model_name='movement',
            constraint=models.CheckConstraint(condition=models.Q(('unit_cost__gte', 0), ('unit_cost__isnull', True), _connector='OR'), name='stock_movement_unit_cost_is_not_negative'),
        ),
        migrations.AddConstraint(
            model_name='movement',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('kind', 'reversal'), ('reverses__isnull', False)), models.Q(models.Q(('kind', 'reversal'), _negated=True), ('reverses__isnull', True)), _connector='OR'), name='stock_movement_reversal_names_its_fact'),
        ),
        migrations.AddConstraint(
            model_name='movement',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('kind', 'receipt'), _negated=True), ('unit_cost__isnull', False), _connector='OR'), name='stock_movement_receipt_has_a_cost'),
        ),
        migrations.AddConstraint(
            model_name='checkpoint',
            constraint=models.UniqueConstraint(fields=('item', 'positions'), name='stock_checkpoint_has_one_place'),
        ),
        migrations.AddConstraint(
            model_name='orderline',
            constraint=models.UniqueConstraint(fields=('order', 'item'), name='stock_orderline_names_an_item_once'),
        ),
        migrations.AddConstraint(
            model_name='orderline',
            constraint=models.CheckConstraint(condition=models.Q(('quantity__gt', 0)), name='stock_orderline_quantity_is_positive'),
        ),
        migrations.AddConstraint(
            model_name='orderline',
            constraint=models.CheckConstraint(condition=models.Q(('pack_size__gt', 0)), name='stock_orderline_pack_size_is_positive'),
        ),
        migrations.AddConstraint(
            model_name='orderline',
            constraint=models.CheckConstraint(condition=models.Q(('unit_price__gte', 0), ('unit_price__isnull', True), _connector='OR'), name='stock_orderline_unit_price_is_not_negative'),
        ),
        migrations.AddConstraint(
            model_name='orderline',
            constraint=models.CheckConstraint(condition=models.Q(('cancelled__gte', 0), ('cancelled__lte', models.F('quantity'))), name='stock_orderline_cancelled_is_at_most_all'),
        ),
        migrations.AddIndex(
            model_name='purchase',
            index=models.Index(condition=models.Q(('use_by__isnull', False)), fields=['use_by'], name='stock_purchase_that_goes_off'),
        ),
        migrations.AddIndex(
            model_name='purchase',
            index=models.Index(condition=models.Q(('paid_on__isnull', False)), fields=['paid_on'], name='stock_purchase_by_payment'),
        ),
        migrations.AddConstraint(
            model_name='order',
            constraint=models.UniqueConstraint(condition=models.Q(('ref', ''), _negated=True), fields=('ref',), name='stock_order_ref_is_unique', violation_error_message='Another row has this ref.'),
        ),
        migrations.AddConstraint(
            model_name='item',
            constraint=models.UniqueConstraint(condition=models.Q(('ref', ''), _negated=True), fields=('ref',), name='stock_item_ref_is_unique', violation_error_message='Another row has this ref.'),
        ),
        migrations.AddConstraint(
            model_name='item',
            constraint=models.CheckConstraint(condition=models.Q(('pack_size__gt', 0)), name='stock_item_pack_size_is_positive'),
        ),
        migrations.AddConstraint(
            model_name='item',
            constraint=models.CheckConstraint(condition=models.Q(('sale_price__gte', 0), ('sale_price__isnull', True), _connector='OR'), name='stock_item_sale_price_is_not_negative'),
        ),
        migrations.AddConstraint(
            model_name='item',
            constraint=models.CheckConstraint(condition=models.Q(('service_level__gte', 0), ('service_level__lt', 1)), name='stock_item_service_level_is_below_1'),
        ),
        migrations.AddConstraint(
            model_name='valuation',
            constraint=models.UniqueConstraint(fields=('item', 'position'), name='stock_valuation_has_one_place'),
        ),
    ]
