"""The tables as they stand after 0011_student_captures, made in one go for a desk that begins.

A desk that went through the migrations named below counts this one as done; one that stopped among
them goes on through them. A test holds that both ways end at the same tables.
"""

import django.db.models.deletion
import readiness.models.captures
import readiness.models.plans
import readiness.models.student_captures
import readiness.signal.catalogue
from django.conf import settings
from django.db import migrations, models

from rentals.created_together import CreateTogether


class Migration(migrations.Migration):

    replaces = [
        ('readiness', '0001_initial'),
        ('readiness', '0002_warnings'),
        ('readiness', '0003_plan_tests_as_names'),
        ('readiness', '0004_plan_rules_in_words'),
        ('readiness', '0005_guided_rounds'),
        ('readiness', '0006_amplifiers_high_pass'),
        ('readiness', '0007_column_maps_by_layout'),
        ('readiness', '0008_amplifiers_low_pass_and_notch'),
        ('readiness', '0009_sample_marks'),
        ('readiness', '0010_kit_types_keep_their_plan'),
        ('readiness', '0011_student_captures'),
    ]

    initial = True

    dependencies = [
        ('rentals', '0001_squashed_0042_log_over_all'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        CreateTogether(
            [
                migrations.CreateModel(
                    name='BenchPlan',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('tests', models.JSONField(default=readiness.signal.catalogue.usual_plan, help_text='Names of the tests a kit must pass.', validators=[readiness.models.plans.check_tests])),
                        ('noise_limit_uv', models.FloatField(default=2.0, help_text="Over 20 to 450 Hz; an amplifier's own limit goes first.", verbose_name='highest noise floor, µV RMS')),
                        ('noise_reason', models.CharField(blank=True, max_length=300, verbose_name='why this noise limit')),
                        ('battery_limit_v', models.FloatField(blank=True, help_text='Empty: by the chemistry and the number of cells of the pack in the kit.', null=True, verbose_name='lowest battery voltage under load, V')),
                        ('battery_reason', models.CharField(blank=True, max_length=300, verbose_name='why this voltage')),
                        ('high_pass_hz', models.FloatField(blank=True, help_text='0 for none, empty where it is not known. From 2 Hz on nothing may be left of a moved cable in flex: then the operator confirms that each lead was moved.', null=True, verbose_name="the amplifier's high-pass, Hz")),
                        ('low_pass_hz', models.FloatField(blank=True, help_text='Empty where it is not known. Above it nothing is missed in a capture; without it a file that ends below 400 Hz counts as filtered by a program.', null=True, verbose_name="the amplifier's low-pass, Hz")),
                        ('notch', models.BooleanField(blank=True, help_text='Then little hum on the second post proves no ground. If it has none, a file with a notch counts as filtered by a program.', null=True, verbose_name='the amplifier takes the mains out (a notch)')),
                        ('column_maps', models.JSONField(blank=True, default=list)),
                        ('changed_at', models.DateTimeField(blank=True, null=True)),
                        ('kit_type', models.OneToOneField(on_delete=django.db.models.deletion.CASCADE, related_name='bench_plan', to='rentals.kittype')),
                    ],
                    options={
                        'ordering': ['kit_type'],
                        'constraints': [models.CheckConstraint(condition=models.Q(('tests', []), _negated=True), name='plan_asks_for_a_test', violation_error_message='Choose at least one test.'), models.CheckConstraint(condition=models.Q(('noise_limit_uv__gt', 0), ('noise_limit_uv__lte', 1000)), name='plan_noise_limit_can_be', violation_error_message='A noise limit lies above 0 and up to 1000 µV.'), models.CheckConstraint(condition=models.Q(('high_pass_hz__isnull', True), models.Q(('high_pass_hz__gte', 0), ('high_pass_hz__lte', 100)), _connector='OR'), name='plan_high_pass_can_be', violation_error_message='A high-pass lies from 0 up to 100 Hz.'), models.CheckConstraint(condition=models.Q(('low_pass_hz__isnull', True), models.Q(('low_pass_hz__gte', 100), ('low_pass_hz__lte', 20000)), _connector='OR'), name='plan_low_pass_can_be', violation_error_message='A low-pass lies from 100 up to 20,000 Hz.'), models.CheckConstraint(condition=models.Q(('battery_limit_v__isnull', True), models.Q(('battery_limit_v__gt', 0), ('battery_limit_v__lte', 15)), _connector='OR'), name='plan_battery_limit_can_be', violation_error_message='A battery limit lies above 0 and up to 15 V.')],
                    },
                ),
                migrations.CreateModel(
                    name='BenchTest',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('current', models.BooleanField(default=True)),
                        ('since', models.DateTimeField(blank=True, help_text='Captures taken before this do not count.', null=True)),
                        ('at', models.DateTimeField(help_text='When it was last judged.')),
                        ('required', models.JSONField(default=list)),
                        ('tests', models.JSONField(default=dict, help_text='Per test: the capture that counts and its verdict.')),
                        ('verdict', models.CharField(blank=True, choices=[('fit', 'fit'), ('retest', 'retest'), ('not fit', 'not fit')], max_length=7)),
                        ('sentence', models.CharField(blank=True, max_length=500)),
                        ('findings', models.JSONField(default=list)),
                        ('warnings', models.JSONField(default=list, help_text='Parts that drift towards a limit, in sentences.')),
                        ('proven', models.JSONField(default=list, help_text='Leads positively proven: A, B, ground.')),
                        ('continuity', models.FloatField(blank=True, null=True)),
                        ('noise', models.FloatField(blank=True, null=True)),
                        ('battery', models.FloatField(blank=True, null=True)),
                        ('cleared_at', models.DateTimeField(blank=True, null=True)),
                        ('not_cleared_because', models.CharField(blank=True, help_text='Fit on the bench, and yet not cleared: what stands against it.', max_length=500)),
                        ('kit', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='bench_tests', to='rentals.kit')),
                        ('captures', models.ManyToManyField(blank=True, related_name='bench_tests', to='readiness.capture')),
                    ],
                    options={
                        'ordering': ['-at', '-pk'],
                        'constraints': [models.UniqueConstraint(condition=models.Q(('current', True)), fields=('kit',), name='kit_has_one_current_bench_test'), models.CheckConstraint(condition=models.Q(('cleared_at__isnull', True), ('verdict', 'fit'), _connector='OR'), name='bench_test_clears_only_when_fit'), models.CheckConstraint(condition=models.Q(('continuity__isnull', True), models.Q(('continuity__gte', 0), ('continuity__lte', 100)), _connector='OR'), name='bench_test_continuity_from_0_to_100'), models.CheckConstraint(condition=models.Q(('noise__isnull', True), models.Q(('noise__gte', 0), ('noise__lte', 100)), _connector='OR'), name='bench_test_noise_from_0_to_100'), models.CheckConstraint(condition=models.Q(('battery__isnull', True), models.Q(('battery__gte', 0), ('battery__lte', 100)), _connector='OR'), name='bench_test_battery_from_0_to_100')],
                    },
                ),
                migrations.CreateModel(
                    name='Capture',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('attempts', models.PositiveSmallIntegerField(default=0)),
                        ('claimed_at', models.DateTimeField(blank=True, null=True)),
                        ('name', models.CharField(help_text='As the file was called when it came.', max_length=255)),
                        ('size', models.PositiveIntegerField()),
                        ('sha256', models.CharField(max_length=64)),
                        ('file', models.FileField(max_length=120, upload_to=readiness.models.captures.own_name)),
                        ('test', models.CharField(blank=True, choices=readiness.models.captures.test_choices, max_length=20)),
                        ('declared', models.JSONField(default=dict, help_text='What the operator said for a file that does not say it.')),
                        ('taken', models.DateTimeField(help_text='From the file where it says so, else when it came.')),
                        ('taken_known', models.BooleanField(default=False)),
                        ('status', models.CharField(choices=[('waiting', 'waiting'), ('scoring', 'being scored'), ('asking', 'a fact is missing'), ('unreadable', 'not readable'), ('scored', 'scored')], default='waiting', max_length=10)),
                        ('refusal', models.CharField(blank=True, max_length=600)),
                        ('missing', models.CharField(blank=True, max_length=10)),
                        ('set_aside', models.CharField(blank=True, help_text="Why it does not count, in the owner's words.", max_length=300)),
                        ('amplifier', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to='rentals.part')),
                        ('battery_pack', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to='rentals.part')),
                        ('kit', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='captures', to='rentals.kit')),
                        ('lead_set', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to='rentals.part')),
                        ('upload', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='captures', to='readiness.upload')),
                    ],
                    options={
                        'ordering': ['-taken', '-pk'],
                        'indexes': [models.Index(fields=['kit', 'test', '-taken'], name='readiness_c_kit_id_002749_idx'), models.Index(fields=['status', 'claimed_at'], name='readiness_c_status_22ce03_idx')],
                        'constraints': [models.UniqueConstraint(fields=('sha256',), name='capture_bytes_once'), models.CheckConstraint(condition=models.Q(('size__gt', 0)), name='capture_is_not_empty'), models.CheckConstraint(condition=models.Q(models.Q(('status', 'scored'), _negated=True), models.Q(('kit__isnull', False), models.Q(('test', ''), _negated=True)), _connector='OR'), name='capture_scored_for_a_kit_and_a_test'), models.CheckConstraint(condition=models.Q(models.Q(('status__in', ['asking', 'unreadable']), _negated=True), models.Q(('refusal', ''), _negated=True), _connector='OR'), name='capture_refused_in_words'), models.CheckConstraint(condition=models.Q(models.Q(('status', 'scoring'), _negated=True), ('claimed_at__isnull', False), _connector='OR'), name='capture_scoring_is_claimed')],
                    },
                ),
                migrations.CreateModel(
                    name='CaptureMark',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('mark', models.BinaryField()),
                        ('capture', models.OneToOneField(on_delete=django.db.models.deletion.CASCADE, related_name='mark', to='readiness.capture')),
                    ],
                ),
                migrations.CreateModel(
                    name='CheckKit',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('since', models.DateTimeField()),
                        ('kit', models.OneToOneField(on_delete=django.db.models.deletion.CASCADE, related_name='check_kit', to='rentals.kit')),
                    ],
                    options={
                        'ordering': ['kit'],
                    },
                ),
                migrations.CreateModel(
                    name='GuidedRound',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('begun_at', models.DateTimeField()),
                        ('ended_at', models.DateTimeField(blank=True, null=True)),
                        ('begun_by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL)),
                        ('kit', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='guided_rounds', to='rentals.kit')),
                    ],
                    options={
                        'ordering': ['-begun_at', '-pk'],
                        'constraints': [models.UniqueConstraint(condition=models.Q(('ended_at', None)), fields=('kit',), name='kit_has_one_open_guided_round'), models.CheckConstraint(condition=models.Q(('ended_at', None), ('ended_at__gte', models.F('begun_at')), _connector='OR'), name='guided_round_ends_after_its_begin')],
                    },
                ),
                migrations.CreateModel(
                    name='StudentCapture',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('attempts', models.PositiveSmallIntegerField(default=0)),
                        ('claimed_at', models.DateTimeField(blank=True, null=True)),
                        ('name', models.CharField(help_text='As the file was called when it came.', max_length=255)),
                        ('size', models.PositiveIntegerField()),
                        ('sha256', models.CharField(max_length=64)),
                        ('file', models.FileField(max_length=120, upload_to=readiness.models.student_captures.stored_name)),
                        ('at', models.DateTimeField()),
                        ('status', models.CharField(choices=[('waiting', 'waiting'), ('scoring', 'being scored'), ('asking', 'a fact is missing'), ('unreadable', 'not readable'), ('scored', 'scored')], default='waiting', max_length=10)),
                        ('refusal', models.CharField(blank=True, help_text="In the bench's words.", max_length=600)),
                        ('missing', models.CharField(blank=True, max_length=10)),
                        ('result', models.JSONField(default=dict, help_text='As a verdict of the bench holds it.')),
                        ('method_version', models.CharField(blank=True, max_length=20)),
                        ('visit', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='rentals.guidevisit')),
                    ],
                    options={
                        'ordering': ['-at', '-pk'],
                        'indexes': [models.Index(fields=['status', 'claimed_at'], name='readiness_s_status_d45346_idx')],
                        'constraints': [models.UniqueConstraint(fields=('visit', 'sha256'), name='student_capture_once_per_visit'), models.CheckConstraint(condition=models.Q(('size__gt', 0)), name='student_capture_is_not_empty'), models.CheckConstraint(condition=models.Q(models.Q(('status', 'scoring'), _negated=True), ('claimed_at__isnull', False), _connector='OR'), name='student_capture_scoring_is_claimed')],
                    },
                ),
                migrations.CreateModel(
                    name='TurnedAway',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('name', models.CharField(max_length=255)),
                        ('sentence', models.CharField(max_length=600)),
                        ('same_as', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to='readiness.capture')),
                        ('upload', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='turned_away', to='readiness.upload')),
                    ],
                    options={
                        'ordering': ['pk'],
                    },
                ),
                migrations.CreateModel(
                    name='Upload',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('at', models.DateTimeField()),
                        ('by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL)),
                    ],
                    options={
                        'ordering': ['-at', '-pk'],
                    },
                ),
                migrations.CreateModel(
                    name='Verdict',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('current', models.BooleanField(default=True)),
                        ('at', models.DateTimeField()),
                        ('why', models.CharField(default='first scoring', max_length=200)),
                        ('method_version', models.CharField(max_length=20)),
                        ('limits', models.JSONField(default=dict)),
                        ('verdict', models.CharField(choices=[('fit', 'fit'), ('retest', 'retest'), ('not fit', 'not fit')], max_length=7)),
                        ('continuity', models.FloatField(blank=True, null=True)),
                        ('noise', models.FloatField(blank=True, null=True)),
                        ('battery', models.FloatField(blank=True, null=True)),
                        ('noise_uv', models.FloatField(blank=True, help_text='Noise floor, microvolts RMS, judged band.', null=True)),
                        ('battery_v', models.FloatField(blank=True, help_text='End voltage under load, volts.', null=True)),
                        ('result', models.JSONField(default=dict, help_text='The whole result as `score --json` gives it.')),
                        ('capture', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='verdicts', to='readiness.capture')),
                    ],
                    options={
                        'ordering': ['-at', '-pk'],
                        'constraints': [models.UniqueConstraint(condition=models.Q(('current', True)), fields=('capture',), name='capture_has_one_current_verdict'), models.CheckConstraint(condition=models.Q(('verdict__in', ['fit', 'retest', 'not fit'])), name='verdict_is_one_of_three'), models.CheckConstraint(condition=models.Q(('continuity__isnull', True), models.Q(('continuity__gte', 0), ('continuity__lte', 100)), _connector='OR'), name='verdict_continuity_from_0_to_100'), models.CheckConstraint(condition=models.Q(('noise__isnull', True), models.Q(('noise__gte', 0), ('noise__lte', 100)), _connector='OR'), name='verdict_noise_from_0_to_100'), models.CheckConstraint(condition=models.Q(('battery__isnull', True), models.Q(('battery__gte', 0), ('battery__lte', 100)), _connector='OR'), name='verdict_battery_from_0_to_100')],
                    },
                ),
            ]
        ),
    ]
