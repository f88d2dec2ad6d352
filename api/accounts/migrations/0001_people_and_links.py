"""The tables of accounts, with their constraints, indexes and history."""

import django.db.models.deletion
import django.db.models.functions.text
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
        ("accounts", "0001_people"),
        ("accounts", "0003_owner_links"),
    ]
    dependencies = [
        ('costbase', '0003_used_network_editions'),
    ]

    operations = [
        TogetherWithTheirTriggers(
            [
                migrations.CreateModel(
                    name='Person',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('name', models.CharField(max_length=200)),
                        ('email', models.EmailField(max_length=254)),
                        ('created', models.DateTimeField(auto_now_add=True)),
                    ],
                    options={
                        'constraints': [models.UniqueConstraint(django.db.models.functions.text.Lower('email'), name='person_email_once'), models.CheckConstraint(condition=models.Q(('name', ''), _negated=True), name='person_has_a_name')],
                    },
                ),
                migrations.CreateModel(
                    name='Membership',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('person', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='memberships', to='accounts.person')),
                        ('shop', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='costbase.shop')),
                        ('network', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='costbase.network')),
                        ('role', models.CharField(choices=[('analyst', 'analyst'), ('estimator', 'estimator'), ('manager', 'manager'), ('network_manager', 'network_manager')], max_length=20)),
                        ('created', models.DateTimeField(auto_now_add=True)),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(models.Q(('network__isnull', True), ('role__in', ['analyst', 'estimator', 'manager']), ('shop__isnull', False)), models.Q(('network__isnull', False), ('role__in', ['network_manager']), ('shop__isnull', True)), _connector='OR'), name='membership_shop_or_network'), models.UniqueConstraint(fields=('person', 'shop'), name='membership_once_a_shop'), models.UniqueConstraint(fields=('person', 'network'), name='membership_once_a_network')],
                    },
                ),
                migrations.CreateModel(
                    name='MembershipEvent',
                    fields=[
                        ('pgh_created_at', models.DateTimeField(auto_now_add=True)),
                        ('pgh_label', models.TextField(help_text='The event label.')),
                        ('pgh_id', models.BigAutoField(primary_key=True, serialize=False)),
                        ('pgh_obj', models.ForeignKey(db_constraint=False, db_index=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='accounts.membership')),
                        ('pgh_context', pghistory.utils.JSONField()),
                        ('id', models.BigIntegerField()),
                        ('person', models.ForeignKey(db_constraint=False, db_index=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='accounts.person')),
                        ('shop', models.ForeignKey(db_constraint=False, db_index=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='costbase.shop')),
                        ('network', models.ForeignKey(db_constraint=False, db_index=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='costbase.network')),
                        ('role', models.CharField(choices=[('analyst', 'analyst'), ('estimator', 'estimator'), ('manager', 'manager'), ('network_manager', 'network_manager')], max_length=20)),
                        ('created', models.DateTimeField(auto_now_add=True)),
                    ],
                    options={
                        'abstract': False,
                        'indexes': [models.Index(fields=['pgh_obj'], name='accounts_me_pgh_obj_459819_idx')],
                    },
                ),
                migrations.CreateModel(
                    name='OwnerLink',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('prefix', models.CharField(max_length=8)),
                        ('digest', models.BinaryField(max_length=32, unique=True)),
                        ('shop', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='costbase.shop')),
                        ('document', models.CharField(max_length=12)),
                        ('document_id', models.BigIntegerField()),
                        ('revision', models.PositiveIntegerField()),
                        ('document_hash', models.CharField(max_length=64)),
                        ('payer', models.CharField(default='owner', max_length=63)),
                        ('sent_how', models.CharField(choices=[('email', 'email'), ('message', 'message'), ('post', 'post'), ('in_person', 'in_person')], max_length=12)),
                        ('made_by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='accounts.person')),
                        ('created', models.DateTimeField()),
                        ('expires', models.DateTimeField()),
                        ('revoked', models.DateTimeField(null=True)),
                        ('last_read', models.DateTimeField(null=True)),
                        ('reads', models.PositiveIntegerField(default=0)),
                    ],
                    options={
                        'indexes': [models.Index(fields=['shop', 'document', 'document_id'], name='owner_link_of_document')],
                        'constraints': [models.CheckConstraint(condition=models.Q(('expires__gt', models.F('created'))), name='owner_link_expires_after_it_was_made'), models.CheckConstraint(condition=models.Q(('prefix__regex', '^[a-z0-9]{8}$')), name='owner_link_prefix_is_plain'), models.CheckConstraint(condition=models.Q(('sent_how__in', ('email', 'message', 'post', 'in_person'))), name='owner_link_way_is_known')],
                    },
                ),
                migrations.CreateModel(
                    name='Token',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('prefix', models.CharField(max_length=8)),
                        ('digest', models.BinaryField(max_length=32, unique=True)),
                        ('person', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='tokens', to='accounts.person')),
                        ('shop', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='costbase.shop')),
                        ('network', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='costbase.network')),
                        ('role', models.CharField(choices=[('analyst', 'analyst'), ('estimator', 'estimator'), ('manager', 'manager'), ('network_manager', 'network_manager')], max_length=20)),
                        ('made_by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='accounts.person')),
                        ('created', models.DateTimeField()),
                        ('expires', models.DateTimeField()),
                        ('revoked', models.DateTimeField(null=True)),
                        ('last_used', models.DateTimeField(null=True)),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(models.Q(('network__isnull', True), ('role__in', ['analyst', 'estimator', 'manager']), ('shop__isnull', False)), models.Q(('network__isnull', False), ('role__in', ['network_manager']), ('shop__isnull', True)), _connector='OR'), name='token_shop_or_network'), models.CheckConstraint(condition=models.Q(('expires__gt', models.F('created'))), name='token_expires_after_it_was_made'), models.CheckConstraint(condition=models.Q(('prefix__regex', '^[a-z0-9]{8}$')), name='token_prefix_is_plain')],
                    },
                ),
                pgtrigger.migrations.AddTrigger(
                    model_name='membership',
                    trigger=pgtrigger.compiler.Trigger(name='insert_insert', sql=pgtrigger.compiler.UpsertTriggerSql(func='INSERT INTO "accounts_membershipevent" ("created", "id", "network_id", "person_id", "pgh_context", "pgh_created_at", "pgh_label", "pgh_obj_id", "role", "shop_id") VALUES (NEW."created", NEW."id", NEW."network_id", NEW."person_id", COALESCE(NULLIF(CURRENT_SETTING(\'pghistory.context_metadata\', TRUE), \'\'), NULL)::JSONB, NOW(), \'insert\', NEW."id", NEW."role", NEW."shop_id"); RETURN NULL;', hash='3f2308fc6e762e4c09009325329c4ed8ab4c7df8', operation='INSERT', pgid='pgtrigger_insert_insert_fc05a', table='accounts_membership', when='AFTER')),
                ),
                pgtrigger.migrations.AddTrigger(
                    model_name='membership',
                    trigger=pgtrigger.compiler.Trigger(name='update_update', sql=pgtrigger.compiler.UpsertTriggerSql(condition='WHEN (OLD.* IS DISTINCT FROM NEW.*)', func='INSERT INTO "accounts_membershipevent" ("created", "id", "network_id", "person_id", "pgh_context", "pgh_created_at", "pgh_label", "pgh_obj_id", "role", "shop_id") VALUES (NEW."created", NEW."id", NEW."network_id", NEW."person_id", COALESCE(NULLIF(CURRENT_SETTING(\'pghistory.context_metadata\', TRUE), \'\'), NULL)::JSONB, NOW(), \'update\', NEW."id", NEW."role", NEW."shop_id"); RETURN NULL;', hash='94f05bcbac2825fe3d96139b9a28b97cf2c6908a', operation='UPDATE', pgid='pgtrigger_update_update_20ab5', table='accounts_membership', when='AFTER')),
                ),
                pgtrigger.migrations.AddTrigger(
                    model_name='membership',
                    trigger=pgtrigger.compiler.Trigger(name='delete_delete', sql=pgtrigger.compiler.UpsertTriggerSql(func='INSERT INTO "accounts_membershipevent" ("created", "id", "network_id", "person_id", "pgh_context", "pgh_created_at", "pgh_label", "pgh_obj_id", "role", "shop_id") VALUES (OLD."created", OLD."id", OLD."network_id", OLD."person_id", COALESCE(NULLIF(CURRENT_SETTING(\'pghistory.context_metadata\', TRUE), \'\'), NULL)::JSONB, NOW(), \'delete\', OLD."id", OLD."role", OLD."shop_id"); RETURN NULL;', hash='6cb6a1fea01fa48ad805e5a905686a5f0c5930b3', operation='DELETE', pgid='pgtrigger_delete_delete_19a8f', table='accounts_membership', when='AFTER')),
                ),
            ]
        ),
    ]
