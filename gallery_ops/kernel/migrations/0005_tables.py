import django.core.validators
import django.db.models.deletion
import uuid
from django.conf import settings
from django.db import migrations, models

from gallery_ops.kernel.first_tables import FirstTables


class Migration(FirstTables):

    replaces = [('kernel', '0001_initial'), ('kernel', '0002_enrolment_tries'), ('kernel', '0003_tries_told_by_tablet'), ('kernel', '0004_what_a_device_has_offered')]

    dependencies = [
        ('auth', '0012_alter_user_first_name_max_length'),
    ]

    operations = [
        migrations.CreateModel(
            name='Alert',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('uid', models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ('showroom', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='kernel.showroom')),
                ('kind', models.CharField(max_length=40)),
                ('cause_key', models.CharField(max_length=120)),
                ('harm_class', models.CharField(choices=[('A', 'same day'), ('B', '2-3 days'), ('C', 'a week'), ('D', 'cosmetic')], max_length=1)),
                ('subject_kind', models.CharField(max_length=40)),
                ('subject_key', models.CharField(max_length=60)),
                ('sentence', models.CharField(max_length=300)),
                ('because', models.JSONField(default=list)),
                ('order_by_on', models.DateField(blank=True, null=True)),
                ('opened_at', models.DateTimeField()),
                ('seen_again_at', models.DateTimeField()),
                ('closed_at', models.DateTimeField(blank=True, null=True)),
                ('acknowledged_at', models.DateTimeField(blank=True, null=True)),
                ('acknowledged_by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'indexes': [models.Index(fields=['showroom', 'closed_at', 'harm_class'], name='alerts_open_by_class')],
                'constraints': [models.UniqueConstraint(condition=models.Q(('closed_at__isnull', True)), fields=('showroom', 'cause_key'), name='one_open_alert_per_cause'), models.CheckConstraint(condition=models.Q(('harm_class__in', ['A', 'B', 'C', 'D'])), name='alert_harm_class_is_known')],
            },
        ),
        migrations.CreateModel(
            name='AuditEntry',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('showroom', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='kernel.showroom')),
                ('at', models.DateTimeField()),
                ('person', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('deed', models.CharField(max_length=60)),
                ('subject_kind', models.CharField(max_length=40)),
                ('subject_key', models.CharField(max_length=60)),
                ('before', models.JSONField(blank=True, null=True)),
                ('after', models.JSONField(blank=True, null=True)),
                ('reason', models.CharField(blank=True, max_length=300)),
                ('reference', models.CharField(blank=True, max_length=60)),
            ],
            options={
                'verbose_name_plural': 'audit entries',
                'indexes': [models.Index(fields=['showroom', 'subject_kind', 'subject_key', '-at'], name='audit_of_subject'), models.Index(fields=['showroom', 'reference'], name='audit_of_reference')],
            },
        ),
        migrations.CreateModel(
            name='Device',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('showroom', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='kernel.showroom')),
                ('uid', models.UUIDField(unique=True)),
                ('name', models.CharField(max_length=80)),
                ('token_hash', models.CharField(max_length=64, unique=True)),
                ('pin_salt', models.BinaryField(max_length=16)),
                ('offered_epoch', models.UUIDField(blank=True, help_text='Of which database it last said that nothing waits', null=True)),
                ('capability', models.CharField(default='rounds', max_length=20)),
                ('enrolled_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('enrolled_at', models.DateTimeField()),
                ('seen_at', models.DateTimeField(blank=True, null=True)),
                ('revoked_at', models.DateTimeField(blank=True, null=True)),
                ('last_seq', models.BigIntegerField(default=0)),
                ('clock_offset_ms', models.BigIntegerField(default=0)),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='EnrolmentCode',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('showroom', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='kernel.showroom')),
                ('code_hash', models.CharField(max_length=64, unique=True)),
                ('made_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('made_at', models.DateTimeField()),
                ('expires_at', models.DateTimeField()),
                ('used_at', models.DateTimeField(blank=True, null=True)),
                ('device', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, to='kernel.device')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='EnrolmentTry',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('address_hash', models.CharField(max_length=64)),
                ('at', models.DateTimeField()),
            ],
            options={
                'indexes': [models.Index(fields=['at', 'address_hash'], name='enrolment_tries_lately')],
            },
        ),
        migrations.CreateModel(
            name='SignInTry',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('showroom', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='kernel.showroom')),
                ('person', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('device', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='kernel.device')),
                ('at', models.DateTimeField()),
                ('right', models.BooleanField()),
                ('told_by_tablet', models.BooleanField(default=False, help_text='Tried without network, and told by the tablet later')),
            ],
            options={
                'indexes': [models.Index(fields=['person', 'device', '-at'], name='sign_in_tries_lately'), models.Index(condition=models.Q(('right', True), ('told_by_tablet', False)), fields=['device', '-at'], name='signed_in_on_device')],
            },
        ),
        migrations.CreateModel(
            name='ApiToken',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('showroom', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='kernel.showroom')),
                ('name', models.CharField(max_length=80)),
                ('membership', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='kernel.membership')),
                ('scopes', models.JSONField(default=list)),
                ('token_hash', models.CharField(max_length=64, unique=True)),
                ('made_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('made_at', models.DateTimeField()),
                ('expires_at', models.DateTimeField(blank=True, null=True)),
                ('revoked_at', models.DateTimeField(blank=True, null=True)),
                ('used_at', models.DateTimeField(blank=True, null=True)),
            ],
            options={
                'constraints': [models.UniqueConstraint(condition=models.Q(('revoked_at__isnull', True)), fields=('showroom', 'name'), name='one_open_token_per_name', violation_error_message='A token of this name is in use: choose another name.')],
            },
        ),
        migrations.CreateModel(
            name='Person',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('uid', models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ('password', models.CharField(max_length=128, verbose_name='password')),
                ('last_login', models.DateTimeField(blank=True, null=True, verbose_name='last login')),
                ('is_superuser', models.BooleanField(default=False, help_text='Designates that this user has all permissions without explicitly assigning them.', verbose_name='superuser status')),
                ('login', models.CharField(max_length=60, unique=True, validators=[django.core.validators.RegexValidator('^[a-z0-9](?:[a-z0-9.\\-]*[a-z0-9])?$', 'A sign-in name has small letters, digits, points and hyphens: iskra.vann.')])),
                ('name', models.CharField(max_length=120)),
                ('email', models.EmailField(blank=True, max_length=254, null=True, unique=True)),
                ('language', models.CharField(blank=True, max_length=16)),
                ('is_active', models.BooleanField(default=True)),
                ('is_staff', models.BooleanField(default=False)),
                ('groups', models.ManyToManyField(blank=True, help_text='The groups this user belongs to. A user will get all permissions granted to each of their groups.', related_name='user_set', related_query_name='user', to='auth.group', verbose_name='groups')),
                ('user_permissions', models.ManyToManyField(blank=True, help_text='Specific permissions for this user.', related_name='user_set', related_query_name='user', to='auth.permission', verbose_name='user permissions')),
            ],
            options={
                'verbose_name_plural': 'people',
            },
        ),
        migrations.CreateModel(
            name='Membership',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('showroom', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='kernel.showroom')),
                ('from_at', models.DateTimeField()),
                ('to_at', models.DateTimeField(blank=True, null=True)),
                ('person', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='memberships', to=settings.AUTH_USER_MODEL)),
                ('role', models.CharField(choices=[('carer', 'carer'), ('senior_carer', 'senior carer'), ('manager', 'manager'), ('owner', 'owner'), ('guest_designer', 'guest designer')], max_length=20)),
                ('pin_salt', models.BinaryField(blank=True, max_length=16, null=True)),
                ('pin_base', models.BinaryField(blank=True, max_length=32, null=True)),
            ],
            options={
                'abstract': False,
                'constraints': [models.CheckConstraint(condition=models.Q(('to_at__isnull', True), ('to_at__gte', models.F('from_at')), _connector='OR'), name='kernel_membership_ends_after_it_begins', violation_error_message='The end lies before the beginning: correct one of them.'), models.UniqueConstraint(condition=models.Q(('to_at__isnull', True)), fields=('showroom', 'person'), name='one_open_membership_per_person', violation_error_message='This person already works here.'), models.CheckConstraint(condition=models.Q(('role__in', ['carer', 'senior_carer', 'manager', 'owner', 'guest_designer'])), name='membership_role_is_known', violation_error_message='Choose one of the five roles.')],
            },
        ),
        migrations.CreateModel(
            name='SkillGrant',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('showroom', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='kernel.showroom')),
                ('person', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='skill_grants', to=settings.AUTH_USER_MODEL)),
                ('skill', models.CharField(choices=[('C1', 'C1, daily care'), ('C2', 'C2, tests, trims and filters'), ('C3', 'C3, gas, livestock and first response'), ('D', 'D, design'), ('T', 'T, licensed trade')], max_length=2)),
                ('signed_off_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('signed_off_on', models.DateField()),
                ('expires_on', models.DateField(blank=True, null=True)),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='SkillRevocation',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('showroom', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='kernel.showroom')),
                ('grant', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='revocation', to='kernel.skillgrant')),
                ('revoked_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('revoked_on', models.DateField()),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='Showroom',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('code', models.SlugField(max_length=40, unique=True)),
                ('name', models.CharField(max_length=120)),
                ('place', models.CharField(blank=True, max_length=120)),
                ('zone', models.CharField(help_text='IANA time zone, such as Europe/London', max_length=64)),
                ('language', models.CharField(default='en', max_length=16)),
                ('decimal_mark', models.CharField(default='.', max_length=1)),
                ('currency', models.CharField(max_length=3, validators=[django.core.validators.RegexValidator('^[A-Z]{3}$')])),
                ('country', models.CharField(max_length=2, validators=[django.core.validators.RegexValidator('^[A-Z]{2}$')])),
                ('cut_off_hour', models.PositiveSmallIntegerField(default=4)),
                ('opens_at', models.TimeField()),
                ('closes_at', models.TimeField()),
                ('round_from_at', models.TimeField(help_text='When the opening round begins')),
                ('address', models.CharField(blank=True, max_length=300)),
                ('telephones', models.JSONField(blank=True, default=list, help_text='Numbers to ring: list of {name, number}')),
            ],
            options={
                'constraints': [models.CheckConstraint(condition=models.Q(('decimal_mark__in', ['.', ','])), name='showroom_decimal_mark_is_point_or_comma', violation_error_message='The decimal mark is a point or a comma.'), models.CheckConstraint(condition=models.Q(('cut_off_hour__lte', 11)), name='showroom_cut_off_is_before_noon', violation_error_message="The business day ends between 0 and 11 o'clock."), models.CheckConstraint(condition=models.Q(('closes_at__gt', models.F('opens_at'))), name='showroom_closes_after_it_opens', violation_error_message='Doors must close after they open.')],
            },
        ),
        migrations.CreateModel(
            name='Closure',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('showroom', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='kernel.showroom')),
                ('from_on', models.DateField()),
                ('to_on', models.DateField(help_text='First day open again')),
                ('reason', models.CharField(max_length=120)),
            ],
            options={
                'constraints': [models.CheckConstraint(condition=models.Q(('to_on__gt', models.F('from_on'))), name='closure_ends_after_it_begins', violation_error_message='The first open day must lie after the first closed one.')],
            },
        ),
        migrations.CreateModel(
            name='Epoch',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('token', models.UUIDField(unique=True)),
                ('since_at', models.DateTimeField()),
            ],
        ),
        migrations.CreateModel(
            name='WorkItem',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('showroom', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='kernel.showroom')),
                ('kind', models.CharField(max_length=40)),
                ('subject', models.CharField(blank=True, max_length=80)),
                ('wanted_at', models.DateTimeField()),
                ('due_at', models.DateTimeField()),
                ('wanted_again_at', models.DateTimeField(blank=True, null=True)),
                ('taken_at', models.DateTimeField(blank=True, null=True)),
                ('taken_by', models.CharField(blank=True, max_length=40)),
                ('done_at', models.DateTimeField(blank=True, null=True)),
                ('tries', models.PositiveIntegerField(default=0)),
                ('error', models.CharField(blank=True, max_length=1000)),
            ],
            options={
                'indexes': [models.Index(condition=models.Q(('done_at__isnull', True)), fields=['due_at'], name='work_waiting')],
                'constraints': [models.UniqueConstraint(condition=models.Q(('done_at__isnull', True)), fields=('showroom', 'kind', 'subject'), name='one_open_work_item_per_subject')],
            },
        ),
        migrations.CreateModel(
            name='Heartbeat',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('kind', models.CharField(max_length=40, unique=True)),
                ('seen_at', models.DateTimeField()),
                ('planned_at', models.DateTimeField(blank=True, null=True)),
            ],
        ),
    ]
