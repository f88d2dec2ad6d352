"""The tables of costbase, with their constraints, indexes and history."""

import django.core.validators
import django.db.models.deletion
import django.db.models.manager
import pghistory.utils
import pgtrigger.compiler
import pgtrigger.migrations
from django.db import migrations, models


class TogetherWithTheirTriggers(migrations.SeparateDatabaseAndState):
    """Makes many tables against one state. One by one, every table would render all those before it again."""

    def __init__(self, operations):
        super().__init__(database_operations=operations, state_operations=operations)

    def deconstruct(self):
        return self.__class__.__name__, [], {"operations": self.state_operations}

    def state_forwards(self, app_label, state):
        state.__dict__.pop("apps", None)
        super().state_forwards(app_label, state)

    def database_forwards(self, app_label, schema_editor, from_state, to_state):
        for operation in self.database_operations:
            operation.database_forwards(app_label, schema_editor, from_state, to_state)

    def database_backwards(self, app_label, schema_editor, from_state, to_state):
        for operation in reversed(self.database_operations):
            # A trigger is taken off a table that the state before does not have yet.
            operation.database_backwards(app_label, schema_editor, from_state, from_state)


class Migration(migrations.Migration):
    replaces = [
        ("costbase", "0001_shops_and_networks"),
        ("costbase", "0003_editions"),
        ("costbase", "0006_runs"),
        ("costbase", "0008_edition_notes"),
        ("costbase", "0010_imports"),
    ]
    dependencies = [
        ('pghistory', '0007_auto_20250421_0444'),
    ]

    operations = [
        TogetherWithTheirTriggers(
            [
                migrations.CreateModel(
                    name='Network',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('slug', models.CharField(max_length=63, unique=True)),
                        ('name', models.CharField(max_length=200)),
                        ('created', models.DateTimeField(auto_now_add=True)),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(('slug__regex', '^[a-z0-9]([a-z0-9-]{0,61}[a-z0-9])?$')), name='network_slug_is_plain'), models.CheckConstraint(condition=models.Q(('name', ''), _negated=True), name='network_has_a_name')],
                    },
                ),
                migrations.CreateModel(
                    name='NetworkEdition',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('network', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='costbase.network')),
                        ('kind', models.CharField(max_length=40)),
                        ('slug', models.CharField(max_length=63, validators=[django.core.validators.RegexValidator('^[a-z0-9]+([-_][a-z0-9]+)*$', 'Expected small letters and digits, with single hyphens or underscores between them.')])),
                        ('valid_from', models.DateField()),
                        ('contents', models.JSONField()),
                        ('note', models.TextField(blank=True, default='')),
                        ('version', models.PositiveIntegerField(default=1)),
                        ('used', models.BooleanField(default=False)),
                        ('withdrawn_on', models.DateField(null=True)),
                        ('created', models.DateTimeField(auto_now_add=True)),
                    ],
                    options={
                        'indexes': [models.Index(fields=['network', 'kind', 'slug', '-valid_from'], name='network_edition_on_a_day')],
                        'constraints': [models.UniqueConstraint(fields=('network', 'kind', 'slug', 'valid_from'), name='network_edition_one_a_day'), models.CheckConstraint(condition=models.Q(('kind__regex', '^[a-z][a-z_]*$')), name='network_edition_kind_is_plain'), models.CheckConstraint(condition=models.Q(('slug__regex', '^[a-z0-9]+([-_][a-z0-9]+)*$')), name='network_edition_slug_is_plain'), models.CheckConstraint(condition=models.Q(('used', False), ('withdrawn_on', None), _connector='OR'), name='network_edition_used_is_not_withdrawn')],
                    },
                    managers=[
                        ('_rows', django.db.models.manager.Manager()),
                    ],
                ),
                migrations.CreateModel(
                    name='NetworkEditionEvent',
                    fields=[
                        ('pgh_created_at', models.DateTimeField(auto_now_add=True)),
                        ('pgh_label', models.TextField(help_text='The event label.')),
                        ('pgh_id', models.BigAutoField(primary_key=True, serialize=False)),
                        ('pgh_obj', models.ForeignKey(db_constraint=False, db_index=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='costbase.networkedition')),
                        ('pgh_context', pghistory.utils.JSONField()),
                        ('id', models.BigIntegerField()),
                        ('network', models.ForeignKey(db_constraint=False, db_index=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='costbase.network')),
                        ('kind', models.CharField(max_length=40)),
                        ('slug', models.CharField(max_length=63, validators=[django.core.validators.RegexValidator('^[a-z0-9]+([-_][a-z0-9]+)*$', 'Expected small letters and digits, with single hyphens or underscores between them.')])),
                        ('valid_from', models.DateField()),
                        ('contents', models.JSONField()),
                        ('note', models.TextField(blank=True, default='')),
                        ('version', models.PositiveIntegerField(default=1)),
                        ('used', models.BooleanField(default=False)),
                        ('withdrawn_on', models.DateField(null=True)),
                        ('created', models.DateTimeField(auto_now_add=True)),
                    ],
                    options={
                        'abstract': False,
                        'indexes': [models.Index(fields=['network', 'pgh_obj'], name='costbase_ne_network_6e4268_idx')],
                    },
                    managers=[
                        ('_rows', django.db.models.manager.Manager()),
                    ],
                ),
                migrations.CreateModel(
                    name='NetworkImport',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('network', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='costbase.network')),
                        ('file', models.CharField(max_length=200)),
                        ('kind', models.CharField(blank=True, max_length=40)),
                        ('valid_from', models.DateField()),
                        ('note', models.TextField(blank=True)),
                        ('state', models.CharField(default='staging', max_length=7)),
                        ('content', models.BinaryField()),
                        ('faults', models.JSONField(default=list)),
                        ('added', models.PositiveIntegerField(default=0)),
                        ('changed', models.PositiveIntegerField(default=0)),
                        ('unchanged', models.PositiveIntegerField(default=0)),
                        ('faulty', models.PositiveIntegerField(default=0)),
                        ('run_id', models.BigIntegerField(null=True)),
                        ('version', models.PositiveIntegerField(default=1)),
                        ('created', models.DateTimeField()),
                        ('created_by', models.BigIntegerField(null=True)),
                        ('applied_at', models.DateTimeField(null=True)),
                        ('applied_by', models.BigIntegerField(null=True)),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(('state__in', ['staging', 'staged', 'applied'])), name='network_import_state_is_known'), models.CheckConstraint(condition=models.Q(('applied_at', None), ('state', 'applied'), _connector='XOR'), name='network_import_applied_has_a_time')],
                    },
                    managers=[
                        ('_rows', django.db.models.manager.Manager()),
                    ],
                ),
                migrations.CreateModel(
                    name='NetworkImportRow',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('network', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='costbase.network')),
                        ('position', models.PositiveIntegerField()),
                        ('place', models.CharField(max_length=200)),
                        ('kind', models.CharField(max_length=60)),
                        ('slug', models.CharField(blank=True, max_length=200)),
                        ('contents', models.JSONField(null=True)),
                        ('faults', models.JSONField(default=list)),
                        ('change', models.CharField(blank=True, max_length=9)),
                        ('before', models.JSONField(null=True)),
                        ('of_id', models.BigIntegerField()),
                    ],
                    options={
                        'constraints': [models.UniqueConstraint(fields=('network', 'of_id', 'position'), name='network_import_row_position'), models.CheckConstraint(condition=models.Q(('change__in', ['', 'added', 'changed', 'unchanged', 'faulty'])), name='network_import_row_change_is_known')],
                    },
                    managers=[
                        ('_rows', django.db.models.manager.Manager()),
                    ],
                ),
                migrations.CreateModel(
                    name='Shop',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('network', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='shops', to='costbase.network')),
                        ('slug', models.CharField(max_length=63, unique=True)),
                        ('name', models.CharField(max_length=200)),
                        ('currency', models.CharField(max_length=3)),
                        ('time_zone', models.CharField(max_length=64)),
                        ('unit_system', models.CharField(choices=[('us', 'Us'), ('metric', 'Metric')], max_length=6)),
                        ('shares_learning', models.BooleanField(default=False)),
                        ('created', models.DateTimeField(auto_now_add=True)),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(('slug__regex', '^[a-z0-9]([a-z0-9-]{0,61}[a-z0-9])?$')), name='shop_slug_is_plain'), models.CheckConstraint(condition=models.Q(('name', ''), _negated=True), name='shop_has_a_name'), models.CheckConstraint(condition=models.Q(('currency__regex', '^[A-Z]{3}$')), name='shop_currency_is_a_code'), models.CheckConstraint(condition=models.Q(('unit_system__in', ['us', 'metric'])), name='shop_unit_system_is_known')],
                    },
                ),
                migrations.CreateModel(
                    name='Run',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('shop', models.ForeignKey(db_index=False, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='costbase.shop')),
                        ('network', models.ForeignKey(db_index=False, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='costbase.network')),
                        ('kind', models.CharField(max_length=40)),
                        ('key', models.CharField(blank=True, max_length=63)),
                        ('task', models.CharField(max_length=100)),
                        ('state', models.CharField(default='waiting', max_length=9)),
                        ('total', models.PositiveIntegerField()),
                        ('done', models.PositiveIntegerField(default=0)),
                        ('failed', models.PositiveIntegerField(default=0)),
                        ('params', models.JSONField(default=dict)),
                        ('result', models.JSONField(default=dict)),
                        ('reason', models.CharField(blank=True, max_length=500)),
                        ('asked_by', models.BigIntegerField(null=True)),
                        ('created', models.DateTimeField()),
                        ('heartbeat', models.DateTimeField()),
                        ('finished', models.DateTimeField(null=True)),
                    ],
                    options={
                        'indexes': [models.Index(fields=['shop', '-id'], name='run_of_a_shop'), models.Index(fields=['network', '-id'], name='run_of_a_network'), models.Index(condition=models.Q(('state__in', ('done', 'failed', 'cancelled')), _negated=True), fields=['id'], name='run_under_way')],
                        'constraints': [models.CheckConstraint(condition=models.Q(('shop', None), ('network', None), _connector='XOR'), name='run_shop_or_network'), models.CheckConstraint(condition=models.Q(('state__in', ('waiting', 'working', 'done', 'failed', 'cancelled'))), name='run_state_is_known'), models.CheckConstraint(condition=models.Q(('kind__regex', '^[a-z][a-z_]*$')), name='run_kind_is_plain'), models.CheckConstraint(condition=models.Q(('done__lte', models.F('total')), models.Q(('done__lt', models.F('total')), ('state', 'done'), _negated=True)), name='run_is_done'), models.CheckConstraint(condition=models.Q(('finished', None), ('state__in', ('done', 'failed', 'cancelled')), _connector='XOR'), name='run_over_has_a_time'), models.UniqueConstraint(condition=models.Q(('key', ''), _negated=True), fields=('shop', 'kind', 'key'), name='run_once_a_shop_and_key'), models.UniqueConstraint(condition=models.Q(('key', ''), _negated=True), fields=('network', 'kind', 'key'), name='run_once_a_network_and_key')],
                    },
                ),
                migrations.CreateModel(
                    name='RunChunk',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('run', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.CASCADE, related_name='chunks', to='costbase.run')),
                        ('n', models.PositiveIntegerField()),
                        ('state', models.CharField(default='waiting', max_length=7)),
                        ('closing', models.BooleanField(default=False)),
                        ('params', models.JSONField(default=dict)),
                        ('attempts', models.PositiveIntegerField(default=0)),
                        ('published', models.DateTimeField(null=True)),
                        ('begun', models.DateTimeField(null=True)),
                    ],
                    options={
                        'constraints': [models.UniqueConstraint(fields=('run', 'n'), name='run_chunk_once'), models.CheckConstraint(condition=models.Q(('state__in', ['waiting', 'done'])), name='run_chunk_state_is_known')],
                    },
                ),
                migrations.CreateModel(
                    name='ShopEdition',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('shop', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='costbase.shop')),
                        ('kind', models.CharField(max_length=40)),
                        ('slug', models.CharField(max_length=63, validators=[django.core.validators.RegexValidator('^[a-z0-9]+([-_][a-z0-9]+)*$', 'Expected small letters and digits, with single hyphens or underscores between them.')])),
                        ('valid_from', models.DateField()),
                        ('contents', models.JSONField()),
                        ('came_from', models.BigIntegerField(null=True)),
                        ('follows_network', models.BooleanField(default=False)),
                        ('note', models.TextField(blank=True, default='')),
                        ('version', models.PositiveIntegerField(default=1)),
                        ('used', models.BooleanField(default=False)),
                        ('withdrawn_on', models.DateField(null=True)),
                        ('created', models.DateTimeField(auto_now_add=True)),
                    ],
                    options={
                        'indexes': [models.Index(fields=['shop', 'kind', 'slug', '-valid_from'], name='shop_edition_on_a_day')],
                        'constraints': [models.UniqueConstraint(fields=('shop', 'kind', 'slug', 'valid_from'), name='shop_edition_one_a_day'), models.CheckConstraint(condition=models.Q(('kind__regex', '^[a-z][a-z_]*$')), name='shop_edition_kind_is_plain'), models.CheckConstraint(condition=models.Q(('slug__regex', '^[a-z0-9]+([-_][a-z0-9]+)*$')), name='shop_edition_slug_is_plain'), models.CheckConstraint(condition=models.Q(('used', False), ('withdrawn_on', None), _connector='OR'), name='shop_edition_used_is_not_withdrawn'), models.CheckConstraint(condition=models.Q(('follows_network', False), ('contents', {}), _connector='OR'), name='shop_edition_follows_or_says')],
                    },
                    managers=[
                        ('_rows', django.db.models.manager.Manager()),
                    ],
                ),
                migrations.CreateModel(
                    name='ShopEditionEvent',
                    fields=[
                        ('pgh_created_at', models.DateTimeField(auto_now_add=True)),
                        ('pgh_label', models.TextField(help_text='The event label.')),
                        ('pgh_id', models.BigAutoField(primary_key=True, serialize=False)),
                        ('pgh_obj', models.ForeignKey(db_constraint=False, db_index=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='costbase.shopedition')),
                        ('pgh_context', pghistory.utils.JSONField()),
                        ('id', models.BigIntegerField()),
                        ('shop', models.ForeignKey(db_constraint=False, db_index=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='costbase.shop')),
                        ('kind', models.CharField(max_length=40)),
                        ('slug', models.CharField(max_length=63, validators=[django.core.validators.RegexValidator('^[a-z0-9]+([-_][a-z0-9]+)*$', 'Expected small letters and digits, with single hyphens or underscores between them.')])),
                        ('valid_from', models.DateField()),
                        ('contents', models.JSONField()),
                        ('came_from', models.BigIntegerField(null=True)),
                        ('follows_network', models.BooleanField(default=False)),
                        ('note', models.TextField(blank=True, default='')),
                        ('version', models.PositiveIntegerField(default=1)),
                        ('used', models.BooleanField(default=False)),
                        ('withdrawn_on', models.DateField(null=True)),
                        ('created', models.DateTimeField(auto_now_add=True)),
                    ],
                    options={
                        'abstract': False,
                        'indexes': [models.Index(fields=['shop', 'pgh_obj'], name='costbase_sh_shop_id_dd1469_idx')],
                    },
                    managers=[
                        ('_rows', django.db.models.manager.Manager()),
                    ],
                ),
                migrations.CreateModel(
                    name='ShopImport',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('shop', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='costbase.shop')),
                        ('file', models.CharField(max_length=200)),
                        ('kind', models.CharField(blank=True, max_length=40)),
                        ('valid_from', models.DateField()),
                        ('note', models.TextField(blank=True)),
                        ('state', models.CharField(default='staging', max_length=7)),
                        ('content', models.BinaryField()),
                        ('faults', models.JSONField(default=list)),
                        ('added', models.PositiveIntegerField(default=0)),
                        ('changed', models.PositiveIntegerField(default=0)),
                        ('unchanged', models.PositiveIntegerField(default=0)),
                        ('faulty', models.PositiveIntegerField(default=0)),
                        ('run_id', models.BigIntegerField(null=True)),
                        ('version', models.PositiveIntegerField(default=1)),
                        ('created', models.DateTimeField()),
                        ('created_by', models.BigIntegerField(null=True)),
                        ('applied_at', models.DateTimeField(null=True)),
                        ('applied_by', models.BigIntegerField(null=True)),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(('state__in', ['staging', 'staged', 'applied'])), name='shop_import_state_is_known'), models.CheckConstraint(condition=models.Q(('applied_at', None), ('state', 'applied'), _connector='XOR'), name='shop_import_applied_has_a_time')],
                    },
                    managers=[
                        ('_rows', django.db.models.manager.Manager()),
                    ],
                ),
                migrations.CreateModel(
                    name='ShopImportRow',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('shop', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='costbase.shop')),
                        ('position', models.PositiveIntegerField()),
                        ('place', models.CharField(max_length=200)),
                        ('kind', models.CharField(max_length=60)),
                        ('slug', models.CharField(blank=True, max_length=200)),
                        ('contents', models.JSONField(null=True)),
                        ('faults', models.JSONField(default=list)),
                        ('change', models.CharField(blank=True, max_length=9)),
                        ('before', models.JSONField(null=True)),
                        ('of', models.ForeignKey(db_constraint=False, db_index=False, on_delete=django.db.models.deletion.CASCADE, related_name='+', to='costbase.shopimport')),
                    ],
                    options={
                        'constraints': [models.UniqueConstraint(fields=('shop', 'of', 'position'), name='shop_import_row_position'), models.CheckConstraint(condition=models.Q(('change__in', ['', 'added', 'changed', 'unchanged', 'faulty'])), name='shop_import_row_change_is_known')],
                    },
                    managers=[
                        ('_rows', django.db.models.manager.Manager()),
                    ],
                ),
                pgtrigger.migrations.AddTrigger(
                    model_name='network',
                    trigger=pgtrigger.compiler.Trigger(name='slug_stays', sql=pgtrigger.compiler.UpsertTriggerSql(condition='WHEN (OLD."slug" IS DISTINCT FROM (NEW."slug"))', func="RAISE EXCEPTION 'pgtrigger: Cannot update rows from % table', TG_TABLE_NAME;", hash='5a65a3bd3b1fee2b8f391a7201b90cc852debd99', operation='UPDATE', pgid='pgtrigger_slug_stays_2ab0b', table='costbase_network', when='BEFORE')),
                ),
                pgtrigger.migrations.AddTrigger(
                    model_name='networkedition',
                    trigger=pgtrigger.compiler.Trigger(name='insert_insert', sql=pgtrigger.compiler.UpsertTriggerSql(func='INSERT INTO "costbase_networkeditionevent" ("contents", "created", "id", "kind", "network_id", "note", "pgh_context", "pgh_created_at", "pgh_label", "pgh_obj_id", "slug", "used", "valid_from", "version", "withdrawn_on") VALUES (NEW."contents", NEW."created", NEW."id", NEW."kind", NEW."network_id", NEW."note", COALESCE(NULLIF(CURRENT_SETTING(\'pghistory.context_metadata\', TRUE), \'\'), NULL)::JSONB, NOW(), \'insert\', NEW."id", NEW."slug", NEW."used", NEW."valid_from", NEW."version", NEW."withdrawn_on"); RETURN NULL;', hash='16f6f91be1f7dab30fe5beec150a200bc99dbc2b', operation='INSERT', pgid='pgtrigger_insert_insert_27c5f', table='costbase_networkedition', when='AFTER')),
                ),
                pgtrigger.migrations.AddTrigger(
                    model_name='networkedition',
                    trigger=pgtrigger.compiler.Trigger(name='update_update', sql=pgtrigger.compiler.UpsertTriggerSql(condition='WHEN (OLD.* IS DISTINCT FROM NEW.*)', func='INSERT INTO "costbase_networkeditionevent" ("contents", "created", "id", "kind", "network_id", "note", "pgh_context", "pgh_created_at", "pgh_label", "pgh_obj_id", "slug", "used", "valid_from", "version", "withdrawn_on") VALUES (NEW."contents", NEW."created", NEW."id", NEW."kind", NEW."network_id", NEW."note", COALESCE(NULLIF(CURRENT_SETTING(\'pghistory.context_metadata\', TRUE), \'\'), NULL)::JSONB, NOW(), \'update\', NEW."id", NEW."slug", NEW."used", NEW."valid_from", NEW."version", NEW."withdrawn_on"); RETURN NULL;', hash='3cf41c7e95f616ca70a69738fb4edcdfbf340502', operation='UPDATE', pgid='pgtrigger_update_update_f7656', table='costbase_networkedition', when='AFTER')),
                ),
                pgtrigger.migrations.AddTrigger(
                    model_name='networkedition',
                    trigger=pgtrigger.compiler.Trigger(name='delete_delete', sql=pgtrigger.compiler.UpsertTriggerSql(func='INSERT INTO "costbase_networkeditionevent" ("contents", "created", "id", "kind", "network_id", "note", "pgh_context", "pgh_created_at", "pgh_label", "pgh_obj_id", "slug", "used", "valid_from", "version", "withdrawn_on") VALUES (OLD."contents", OLD."created", OLD."id", OLD."kind", OLD."network_id", OLD."note", COALESCE(NULLIF(CURRENT_SETTING(\'pghistory.context_metadata\', TRUE), \'\'), NULL)::JSONB, NOW(), \'delete\', OLD."id", OLD."slug", OLD."used", OLD."valid_from", OLD."version", OLD."withdrawn_on"); RETURN NULL;', hash='52334504d6a5950c96902bb64f1552b73f6b5188', operation='DELETE', pgid='pgtrigger_delete_delete_b740b', table='costbase_networkedition', when='AFTER')),
                ),
                pgtrigger.migrations.AddTrigger(
                    model_name='shop',
                    trigger=pgtrigger.compiler.Trigger(name='slug_stays', sql=pgtrigger.compiler.UpsertTriggerSql(condition='WHEN (OLD."slug" IS DISTINCT FROM (NEW."slug"))', func="RAISE EXCEPTION 'pgtrigger: Cannot update rows from % table', TG_TABLE_NAME;", hash='86eb633b892e2e97ba6a00767af831a6f504df5c', operation='UPDATE', pgid='pgtrigger_slug_stays_69343', table='costbase_shop', when='BEFORE')),
                ),
                pgtrigger.migrations.AddTrigger(
                    model_name='shopedition',
                    trigger=pgtrigger.compiler.Trigger(name='insert_insert', sql=pgtrigger.compiler.UpsertTriggerSql(func='INSERT INTO "costbase_shopeditionevent" ("came_from", "contents", "created", "follows_network", "id", "kind", "note", "pgh_context", "pgh_created_at", "pgh_label", "pgh_obj_id", "shop_id", "slug", "used", "valid_from", "version", "withdrawn_on") VALUES (NEW."came_from", NEW."contents", NEW."created", NEW."follows_network", NEW."id", NEW."kind", NEW."note", COALESCE(NULLIF(CURRENT_SETTING(\'pghistory.context_metadata\', TRUE), \'\'), NULL)::JSONB, NOW(), \'insert\', NEW."id", NEW."shop_id", NEW."slug", NEW."used", NEW."valid_from", NEW."version", NEW."withdrawn_on"); RETURN NULL;', hash='804f567bcb976c781bf83ef7e5d0335721e89de1', operation='INSERT', pgid='pgtrigger_insert_insert_dd283', table='costbase_shopedition', when='AFTER')),
                ),
                pgtrigger.migrations.AddTrigger(
                    model_name='shopedition',
                    trigger=pgtrigger.compiler.Trigger(name='update_update', sql=pgtrigger.compiler.UpsertTriggerSql(condition='WHEN (OLD.* IS DISTINCT FROM NEW.*)', func='INSERT INTO "costbase_shopeditionevent" ("came_from", "contents", "created", "follows_network", "id", "kind", "note", "pgh_context", "pgh_created_at", "pgh_label", "pgh_obj_id", "shop_id", "slug", "used", "valid_from", "version", "withdrawn_on") VALUES (NEW."came_from", NEW."contents", NEW."created", NEW."follows_network", NEW."id", NEW."kind", NEW."note", COALESCE(NULLIF(CURRENT_SETTING(\'pghistory.context_metadata\', TRUE), \'\'), NULL)::JSONB, NOW(), \'update\', NEW."id", NEW."shop_id", NEW."slug", NEW."used", NEW."valid_from", NEW."version", NEW."withdrawn_on"); RETURN NULL;', hash='cc4429b93a34ab5c6e16f178268839730e85ea17', operation='UPDATE', pgid='pgtrigger_update_update_53b28', table='costbase_shopedition', when='AFTER')),
                ),
                pgtrigger.migrations.AddTrigger(
                    model_name='shopedition',
                    trigger=pgtrigger.compiler.Trigger(name='delete_delete', sql=pgtrigger.compiler.UpsertTriggerSql(func='INSERT INTO "costbase_shopeditionevent" ("came_from", "contents", "created", "follows_network", "id", "kind", "note", "pgh_context", "pgh_created_at", "pgh_label", "pgh_obj_id", "shop_id", "slug", "used", "valid_from", "version", "withdrawn_on") VALUES (OLD."came_from", OLD."contents", OLD."created", OLD."follows_network", OLD."id", OLD."kind", OLD."note", COALESCE(NULLIF(CURRENT_SETTING(\'pghistory.context_metadata\', TRUE), \'\'), NULL)::JSONB, NOW(), \'delete\', OLD."id", OLD."shop_id", OLD."slug", OLD."used", OLD."valid_from", OLD."version", OLD."withdrawn_on"); RETURN NULL;', hash='798e149cbd6d240360fd922c3664fe46b5b4fa96', operation='DELETE', pgid='pgtrigger_delete_delete_21dd8', table='costbase_shopedition', when='AFTER')),
                ),
            ]
        ),
    ]
