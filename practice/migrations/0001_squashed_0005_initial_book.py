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
        ('practice', '0001_first_book'),
        ('practice', '0002_odometer_indexes'),
        ('practice', '0003_road_entries'),
        ('practice', '0004_guards'),
        ('practice', '0005_set_aside_and_closing'),
    ]

    dependencies = [
        ('stock', '0001_squashed_0011_initial_book'),
    ]

    operations = [
        migrations.CreateModel(
            name='Client',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('uuid', models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ('ref', models.CharField(blank=True, default='', max_length=200)),
                ('archived', models.BooleanField(default=False)),
                ('name', models.CharField(max_length=200)),
                ('email', models.CharField(blank=True, default='', max_length=254)),
                ('phone', models.CharField(blank=True, default='', max_length=60)),
                ('address', models.TextField(blank=True, default='')),
                ('language', models.CharField(blank=True, default='', max_length=35)),
                ('payment_terms_days', models.PositiveIntegerField(blank=True, null=True)),
                ('billing', models.CharField(choices=[('per_day', 'One invoice a day'), ('monthly', 'One invoice a month')], default='per_day', max_length=10)),
                ('tax_exempt', models.BooleanField(default=False)),
                ('notes', models.TextField(blank=True, default='')),
            ],
            options={
                'abstract': False,
                'constraints': [models.UniqueConstraint(condition=models.Q(('ref', ''), _negated=True), fields=('ref',), name='practice_client_ref_is_unique', violation_error_message='Another row has this ref.')],
            },
        ),
        migrations.CreateModel(
            name='Place',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('uuid', models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ('ref', models.CharField(blank=True, default='', max_length=200)),
                ('archived', models.BooleanField(default=False)),
                ('name', models.CharField(max_length=200)),
                ('address', models.TextField(blank=True, default='')),
                ('latitude', practice.lib.fields.ExactField(blank=True, null=True)),
                ('longitude', practice.lib.fields.ExactField(blank=True, null=True)),
                ('area', models.CharField(blank=True, default='', max_length=100)),
                ('travel_rate', practice.lib.fields.ExactField(blank=True, null=True)),
                ('notes', models.TextField(blank=True, default='')),
            ],
            options={
                'abstract': False,
                'constraints': [models.UniqueConstraint(condition=models.Q(('ref', ''), _negated=True), fields=('ref',), name='practice_place_ref_is_unique', violation_error_message='Another row has this ref.'), models.CheckConstraint(condition=models.Q(('travel_rate__gte', 0), ('travel_rate__isnull', True), _connector='OR'), name='practice_place_travel_rate_is_not_negative')],
            },
        ),
        migrations.CreateModel(
            name='Horse',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('uuid', models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ('ref', models.CharField(blank=True, default='', max_length=200)),
                ('name', models.CharField(max_length=200)),
                ('cycle_weeks', models.PositiveSmallIntegerField(default=6)),
                ('next_call', models.DateField(blank=True, null=True)),
                ('born', models.PositiveSmallIntegerField(blank=True, null=True)),
                ('breed', models.CharField(blank=True, default='', max_length=100)),
                ('status', models.CharField(choices=[('active', 'Active'), ('away', 'Away'), ('retired', 'Retired'), ('sold', 'Sold'), ('died', 'Died')], default='active', max_length=10)),
                ('cautions', models.TextField(blank=True, default='')),
                ('notes', models.TextField(blank=True, default='')),
                ('place', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='horses', to='practice.place')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='Profile',
            fields=[
                ('id', models.PositiveSmallIntegerField(default=1, editable=False, primary_key=True, serialize=False)),
                ('name', models.CharField(max_length=200)),
                ('address', models.TextField(blank=True, default='')),
                ('email', models.CharField(blank=True, default='', max_length=254)),
                ('phone', models.CharField(blank=True, default='', max_length=60)),
                ('tax_id', models.CharField(blank=True, default='', max_length=60)),
                ('registration_number', models.CharField(blank=True, default='', max_length=60)),
                ('locale', models.CharField(default='en-US', max_length=35)),
                ('currency', models.CharField(default='USD', max_length=3)),
                ('distance_unit', models.CharField(choices=[('mi', 'miles'), ('km', 'kilometres')], default='mi', max_length=2)),
                ('country', models.CharField(blank=True, default='', max_length=2)),
                ('invoice_prefix', models.CharField(blank=True, default='', max_length=20)),
                ('payment_terms_days', models.PositiveIntegerField(default=14)),
                ('home_latitude', practice.lib.fields.ExactField(blank=True, null=True)),
                ('home_longitude', practice.lib.fields.ExactField(blank=True, null=True)),
                ('home_is_principal_place_of_business', models.BooleanField(default=True)),
                ('mileage_scheme', models.CharField(choices=[('us_standard', 'United States, standard rate'), ('uk_simplified', 'United Kingdom, simplified expenses'), ('au_cents_per_km', 'Australia, cents per kilometre'), ('actual_only', 'Actual costs only')], default='actual_only', max_length=20)),
                ('valuation', models.CharField(choices=[('moving_average', 'Moving weighted average'), ('fifo', 'First in, first out')], default='moving_average', max_length=20)),
                ('lead_time_days', models.PositiveIntegerField(default=7)),
                ('review_period_days', models.PositiveIntegerField(default=7)),
                ('travel_rule', models.CharField(choices=[('none', 'Travel is not charged'), ('per_visit', 'An amount per visit'), ('per_distance', 'A rate for the distance driven to reach it')], default='none', max_length=20)),
                ('travel_rate', practice.lib.fields.ExactField(blank=True, null=True)),
                ('travel_taxable', models.BooleanField(default=False)),
                ('closed_through', models.DateField(blank=True, null=True)),
                ('pay_note', models.TextField(blank=True, default='')),
                ('is_demo', models.BooleanField(default=False)),
                ('closed_before', models.DateField(blank=True, editable=False, null=True)),
                ('closing_to_take_back', models.DateField(blank=True, editable=False, null=True)),
                ('set_aside_percent', practice.lib.fields.ExactField(blank=True, null=True)),
            ],
            options={
                'constraints': [models.CheckConstraint(condition=models.Q(('pk', 1)), name='practice_profile_is_one_row'), models.CheckConstraint(condition=models.Q(('set_aside_percent__isnull', True), models.Q(('set_aside_percent__gte', 0), ('set_aside_percent__lte', 100)), _connector='OR'), name='practice_profile_set_aside_is_a_percent')],
            },
        ),
        migrations.CreateModel(
            name='Service',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('uuid', models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ('ref', models.CharField(blank=True, default='', max_length=200)),
                ('archived', models.BooleanField(default=False)),
                ('name', models.CharField(max_length=200)),
                ('minutes', models.PositiveIntegerField(blank=True, null=True)),
                ('taxable', models.BooleanField(default=False)),
                ('resets_cycle', models.BooleanField(default=True)),
                ('new_shoes', models.PositiveSmallIntegerField(blank=True, null=True)),
                ('feet_nailed', models.PositiveSmallIntegerField(blank=True, null=True)),
                ('fitted', models.CharField(blank=True, choices=[('hot', 'Hot-fitted'), ('cold', 'Cold-fitted')], default='', max_length=4)),
            ],
            options={
                'abstract': False,
                'constraints': [models.UniqueConstraint(condition=models.Q(('ref', ''), _negated=True), fields=('ref',), name='practice_service_ref_is_unique', violation_error_message='Another row has this ref.'), models.CheckConstraint(condition=models.Q(models.Q(('new_shoes__isnull', True), ('new_shoes__lte', 4), _connector='OR'), models.Q(('feet_nailed__isnull', True), ('feet_nailed__lte', 4), _connector='OR')), name='practice_service_has_up_to_four_feet')],
            },
        ),
        migrations.CreateModel(
            name='Vehicle',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('uuid', models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ('ref', models.CharField(blank=True, default='', max_length=200)),
                ('archived', models.BooleanField(default=False)),
                ('name', models.CharField(max_length=200)),
                ('placed_in_service', models.DateField(blank=True, null=True)),
                ('location', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='stock.location')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='Reading',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('date', models.DateField()),
                ('at', models.CharField(choices=[('start', 'Start of the day'), ('end', 'End of the day')], max_length=5)),
                ('reading', practice.lib.fields.ExactField()),
                ('vehicle', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='readings', to='practice.vehicle')),
                ('changed_at', models.DateTimeField(blank=True, null=True)),
                ('recorded_at', models.DateTimeField(blank=True, null=True)),
            ],
        ),
        migrations.CreateModel(
            name='OdometerChange',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('date', models.DateField()),
                ('last', practice.lib.fields.ExactField()),
                ('first', practice.lib.fields.ExactField()),
                ('vehicle', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='odometer_changes', to='practice.vehicle')),
            ],
        ),
        migrations.CreateModel(
            name='Visit',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('uuid', models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ('ref', models.CharField(blank=True, default='', max_length=200)),
                ('date', models.DateField(db_index=True)),
                ('status', models.CharField(choices=[('planned', 'Planned'), ('done', 'Done'), ('cancelled', 'Canceled')], default='planned', max_length=10)),
                ('arrive', models.TimeField(blank=True, null=True)),
                ('leave', models.TimeField(blank=True, null=True)),
                ('billed', models.BooleanField(default=False)),
                ('note', models.TextField(blank=True, default='')),
                ('position', models.PositiveIntegerField(blank=True, null=True)),
                ('locked', models.BooleanField(default=False)),
                ('place', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='visits', to='practice.place')),
                ('vehicle', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='visits', to='practice.vehicle')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='MaterialUse',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('uuid', models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ('quantity', practice.lib.fields.ExactField()),
                ('foot', models.CharField(blank=True, choices=[('LF', 'Left fore'), ('RF', 'Right fore'), ('LH', 'Left hind'), ('RH', 'Right hind')], default='', max_length=2)),
                ('price', practice.lib.fields.ExactField(blank=True, null=True)),
                ('horse', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='materials', to='practice.horse')),
                ('item', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='stock.item')),
                ('movement', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='stock.movement')),
                ('visit', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='materials', to='practice.visit')),
            ],
        ),
        migrations.CreateModel(
            name='MaterialReturn',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('horse', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='returns', to='practice.horse')),
                ('movement', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='stock.movement')),
                ('visit', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='returns', to='practice.visit')),
            ],
        ),
        migrations.CreateModel(
            name='LegChange',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('date', models.DateField()),
                ('start_odometer', practice.lib.fields.ExactField(blank=True, null=True)),
                ('end_odometer', practice.lib.fields.ExactField(blank=True, null=True)),
                ('distance', practice.lib.fields.ExactField()),
                ('purpose', models.CharField(choices=[('business', 'Business'), ('commuting', 'Commuting'), ('personal', 'Personal')], max_length=10)),
                ('origin', models.CharField(blank=True, default='', max_length=200)),
                ('destination', models.CharField(blank=True, default='', max_length=200)),
                ('reason', models.CharField(blank=True, default='', max_length=300)),
                ('proposed', practice.lib.fields.ExactField(blank=True, null=True)),
                ('leg', models.UUIDField(db_index=True)),
                ('what', models.CharField(choices=[('changed', 'Changed'), ('removed', 'Deleted')], max_length=7)),
                ('at', models.DateTimeField()),
                ('recorded_at', models.DateTimeField(blank=True, null=True)),
                ('vehicle', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='%(class)ss', to='practice.vehicle')),
                ('visit', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='%(class)ss', to='practice.visit')),
            ],
        ),
        migrations.CreateModel(
            name='Leg',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('uuid', models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ('date', models.DateField()),
                ('start_odometer', practice.lib.fields.ExactField(blank=True, null=True)),
                ('end_odometer', practice.lib.fields.ExactField(blank=True, null=True)),
                ('distance', practice.lib.fields.ExactField()),
                ('purpose', models.CharField(choices=[('business', 'Business'), ('commuting', 'Commuting'), ('personal', 'Personal')], max_length=10)),
                ('origin', models.CharField(blank=True, default='', max_length=200)),
                ('destination', models.CharField(blank=True, default='', max_length=200)),
                ('reason', models.CharField(blank=True, default='', max_length=300)),
                ('vehicle', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='%(class)ss', to='practice.vehicle')),
                ('visit', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='%(class)ss', to='practice.visit')),
                ('changed_at', models.DateTimeField(blank=True, null=True)),
                ('proposed', practice.lib.fields.ExactField(blank=True, null=True)),
                ('recorded_at', models.DateTimeField(blank=True, null=True)),
            ],
        ),
        migrations.CreateModel(
            name='Finding',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('uuid', models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ('foot', models.CharField(choices=[('LF', 'Left fore'), ('RF', 'Right fore'), ('LH', 'Left hind'), ('RH', 'Right hind'), ('all', 'All feet')], max_length=3)),
                ('zone', models.CharField(choices=[('toe', 'Toe'), ('inside quarter', 'Inside quarter'), ('outside quarter', 'Outside quarter'), ('inside heel', 'Inside heel'), ('outside heel', 'Outside heel'), ('heel bulb', 'Heel bulb'), ('frog', 'Frog'), ('bars', 'Bars'), ('seat of corn', 'Seat of corn'), ('sole', 'Sole'), ('white line', 'White line'), ('wall', 'Wall'), ('coronet', 'Coronet'), ('whole foot', 'Whole foot')], max_length=20)),
                ('kind', models.CharField(max_length=200)),
                ('note', models.TextField(blank=True, default='')),
                ('refer_to_vet', models.BooleanField(default=False)),
                ('horse', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='findings', to='practice.horse')),
                ('visit', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='findings', to='practice.visit')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='Work',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('uuid', models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ('quantity', practice.lib.fields.ExactField(default=Decimal('1'))),
                ('price', practice.lib.fields.ExactField(blank=True, null=True)),
                ('note', models.TextField(blank=True, default='')),
                ('horse', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='work', to='practice.horse')),
                ('service', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='work', to='practice.service')),
                ('visit', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='work', to='practice.visit')),
            ],
        ),
        migrations.CreateModel(
            name='Owner',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('share', practice.lib.fields.ExactField()),
                ('valid_from', models.DateField(blank=True, null=True)),
                ('valid_to', models.DateField(blank=True, null=True)),
                ('client', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='shares', to='practice.client')),
                ('horse', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='owners', to='practice.horse')),
            ],
            options={
                'constraints': [models.CheckConstraint(condition=models.Q(('share__gt', 0), ('share__lte', 100)), name='practice_owner_share_is_a_percent'), models.CheckConstraint(condition=models.Q(('valid_from__isnull', True), ('valid_to__isnull', True), ('valid_to__gte', models.F('valid_from')), _connector='OR'), name='practice_owner_ends_after_it_begins')],
            },
        ),
        migrations.AddConstraint(
            model_name='horse',
            constraint=models.UniqueConstraint(condition=models.Q(('ref', ''), _negated=True), fields=('ref',), name='practice_horse_ref_is_unique', violation_error_message='Another row has this ref.'),
        ),
        migrations.AddConstraint(
            model_name='horse',
            constraint=models.CheckConstraint(condition=models.Q(('cycle_weeks__gt', 0)), name='practice_horse_has_a_cycle'),
        ),
        migrations.AddConstraint(
            model_name='vehicle',
            constraint=models.UniqueConstraint(condition=models.Q(('ref', ''), _negated=True), fields=('ref',), name='practice_vehicle_ref_is_unique', violation_error_message='Another row has this ref.'),
        ),
        migrations.AddIndex(
            model_name='reading',
            index=models.Index(fields=['vehicle', 'date'], name='practice_reading_by_vehicle'),
        ),
        migrations.AddConstraint(
            model_name='reading',
            constraint=models.UniqueConstraint(fields=('date', 'vehicle', 'at'), name='practice_reading_is_one_a_day'),
        ),
        migrations.AddConstraint(
            model_name='reading',
            constraint=models.CheckConstraint(condition=models.Q(('reading__gte', 0), ('reading__isnull', True), _connector='OR'), name='practice_reading_is_not_negative'),
        ),
        migrations.AddConstraint(
            model_name='odometerchange',
            constraint=models.UniqueConstraint(fields=('date', 'vehicle'), name='practice_odometerchange_is_one_a_day'),
        ),
        migrations.AddConstraint(
            model_name='odometerchange',
            constraint=models.CheckConstraint(condition=models.Q(('last__gte', 0), ('last__isnull', True), _connector='OR'), name='practice_odometerchange_last_is_not_negative'),
        ),
        migrations.AddConstraint(
            model_name='odometerchange',
            constraint=models.CheckConstraint(condition=models.Q(('first__gte', 0), ('first__isnull', True), _connector='OR'), name='practice_odometerchange_first_is_not_negative'),
        ),
        migrations.AddConstraint(
            model_name='visit',
            constraint=models.UniqueConstraint(condition=models.Q(('ref', ''), _negated=True), fields=('ref',), name='practice_visit_ref_is_unique', violation_error_message='Another row has this ref.'),
        ),
        migrations.AddConstraint(
            model_name='visit',
            constraint=models.CheckConstraint(condition=models.Q(('locked', False), ('status', 'done'), _connector='OR'), name='practice_visit_locked_is_done'),
        ),
        migrations.AddConstraint(
            model_name='materialuse',
            constraint=models.CheckConstraint(condition=models.Q(('quantity__gt', 0)), name='practice_materialuse_quantity_is_positive'),
        ),
        migrations.AddConstraint(
            model_name='materialuse',
            constraint=models.CheckConstraint(condition=models.Q(('price__gte', 0), ('price__isnull', True), _connector='OR'), name='practice_materialuse_price_is_not_negative'),
        ),
        migrations.AddIndex(
            model_name='legchange',
            index=models.Index(fields=['vehicle', 'date'], name='practice_legchange_by_day'),
        ),
        migrations.AddIndex(
            model_name='leg',
            index=models.Index(fields=['vehicle', 'date'], name='practice_leg_by_vehicle_day'),
        ),
        migrations.AddIndex(
            model_name='leg',
            index=models.Index(condition=models.Q(('start_odometer__isnull', False), ('end_odometer__isnull', False), _connector='OR'), fields=['vehicle', 'date'], name='practice_leg_with_odometer'),
        ),
        migrations.AddConstraint(
            model_name='leg',
            constraint=models.CheckConstraint(condition=models.Q(('distance__gte', 0), ('distance__isnull', True), _connector='OR'), name='practice_leg_distance_is_not_negative'),
        ),
        migrations.AddConstraint(
            model_name='leg',
            constraint=models.CheckConstraint(condition=models.Q(('proposed__gte', 0), ('proposed__isnull', True), _connector='OR'), name='practice_leg_proposed_is_not_negative'),
        ),
        migrations.AddConstraint(
            model_name='leg',
            constraint=models.CheckConstraint(condition=models.Q(('proposed__isnull', True), ('start_odometer__isnull', True), ('end_odometer__isnull', True), _connector='OR'), name='practice_leg_with_two_readings_is_not_estimated'),
        ),
        migrations.AddConstraint(
            model_name='leg',
            constraint=models.CheckConstraint(condition=models.Q(('start_odometer__isnull', True), ('end_odometer__isnull', True), ('end_odometer', django.db.models.expressions.CombinedExpression(models.F('start_odometer'), '+', models.F('distance'))), _connector='OR'), name='practice_leg_distance_is_what_its_readings_say'),
        ),
        migrations.AddConstraint(
            model_name='work',
            constraint=models.CheckConstraint(condition=models.Q(('quantity__gt', 0)), name='practice_work_quantity_is_positive'),
        ),
        migrations.AddConstraint(
            model_name='work',
            constraint=models.CheckConstraint(condition=models.Q(('price__gte', 0), ('price__isnull', True), _connector='OR'), name='practice_work_price_is_not_negative'),
        ),
    ]
