import django.core.validators
import django.db.models.deletion
import django.db.models.manager
import pghistory.utils
import pgtrigger.compiler
import pgtrigger.migrations
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('costbase', '0002_shop_grants'),
    ]

    operations = [
        migrations.CreateModel(
            name='NetworkEdition',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('kind', models.CharField(max_length=40)),
                ('slug', models.CharField(max_length=63, validators=[django.core.validators.RegexValidator('^[a-z0-9]+([-_][a-z0-9]+)*$', 'Expected small letters and digits, with single hyphens or underscores between them.')])),
                ('valid_from', models.DateField()),
                ('contents', models.JSONField()),
                ('used', models.BooleanField(default=False)),
                ('withdrawn_on', models.DateField(null=True)),
                ('created', models.DateTimeField(auto_now_add=True)),
                ('network', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='costbase.network')),
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
                ('pgh_context', pghistory.utils.JSONField()),
                ('id', models.BigIntegerField()),
                ('kind', models.CharField(max_length=40)),
                ('slug', models.CharField(max_length=63, validators=[django.core.validators.RegexValidator('^[a-z0-9]+([-_][a-z0-9]+)*$', 'Expected small letters and digits, with single hyphens or underscores between them.')])),
                ('valid_from', models.DateField()),
                ('contents', models.JSONField()),
                ('used', models.BooleanField(default=False)),
                ('withdrawn_on', models.DateField(null=True)),
                ('created', models.DateTimeField(auto_now_add=True)),
                ('network', models.ForeignKey(db_constraint=False, db_index=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='costbase.network')),
                ('pgh_obj', models.ForeignKey(db_constraint=False, db_index=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='costbase.networkedition')),
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
            name='ShopEdition',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('kind', models.CharField(max_length=40)),
                ('slug', models.CharField(max_length=63, validators=[django.core.validators.RegexValidator('^[a-z0-9]+([-_][a-z0-9]+)*$', 'Expected small letters and digits, with single hyphens or underscores between them.')])),
                ('valid_from', models.DateField()),
                ('contents', models.JSONField()),
                ('came_from', models.BigIntegerField(null=True)),
                ('used', models.BooleanField(default=False)),
                ('withdrawn_on', models.DateField(null=True)),
                ('created', models.DateTimeField(auto_now_add=True)),
                ('shop', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='costbase.shop')),
            ],
            options={
                'indexes': [models.Index(fields=['shop', 'kind', 'slug', '-valid_from'], name='shop_edition_on_a_day')],
                'constraints': [models.UniqueConstraint(fields=('shop', 'kind', 'slug', 'valid_from'), name='shop_edition_one_a_day'), models.CheckConstraint(condition=models.Q(('kind__regex', '^[a-z][a-z_]*$')), name='shop_edition_kind_is_plain'), models.CheckConstraint(condition=models.Q(('slug__regex', '^[a-z0-9]+([-_][a-z0-9]+)*$')), name='shop_edition_slug_is_plain'), models.CheckConstraint(condition=models.Q(('used', False), ('withdrawn_on', None), _connector='OR'), name='shop_edition_used_is_not_withdrawn')],
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
                ('pgh_context', pghistory.utils.JSONField()),
                ('id', models.BigIntegerField()),
                ('kind', models.CharField(max_length=40)),
                ('slug', models.CharField(max_length=63, validators=[django.core.validators.RegexValidator('^[a-z0-9]+([-_][a-z0-9]+)*$', 'Expected small letters and digits, with single hyphens or underscores between them.')])),
                ('valid_from', models.DateField()),
                ('contents', models.JSONField()),
                ('came_from', models.BigIntegerField(null=True)),
                ('used', models.BooleanField(default=False)),
                ('withdrawn_on', models.DateField(null=True)),
                ('created', models.DateTimeField(auto_now_add=True)),
                ('pgh_obj', models.ForeignKey(db_constraint=False, db_index=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='costbase.shopedition')),
                ('shop', models.ForeignKey(db_constraint=False, db_index=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='costbase.shop')),
            ],
            options={
                'abstract': False,
                'indexes': [models.Index(fields=['shop', 'pgh_obj'], name='costbase_sh_shop_id_dd1469_idx')],
            },
            managers=[
                ('_rows', django.db.models.manager.Manager()),
            ],
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='networkedition',
            trigger=pgtrigger.compiler.Trigger(name='insert_insert', sql=pgtrigger.compiler.UpsertTriggerSql(func='INSERT INTO "costbase_networkeditionevent" ("contents", "created", "id", "kind", "network_id", "pgh_context", "pgh_created_at", "pgh_label", "pgh_obj_id", "slug", "used", "valid_from", "withdrawn_on") VALUES (NEW."contents", NEW."created", NEW."id", NEW."kind", NEW."network_id", COALESCE(NULLIF(CURRENT_SETTING(\'pghistory.context_metadata\', TRUE), \'\'), NULL)::JSONB, NOW(), \'insert\', NEW."id", NEW."slug", NEW."used", NEW."valid_from", NEW."withdrawn_on"); RETURN NULL;', hash='e698a5259930ac33b91332f4fdcfeff8003a7dac', operation='INSERT', pgid='pgtrigger_insert_insert_27c5f', table='costbase_networkedition', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='networkedition',
            trigger=pgtrigger.compiler.Trigger(name='update_update', sql=pgtrigger.compiler.UpsertTriggerSql(condition='WHEN (OLD.* IS DISTINCT FROM NEW.*)', func='INSERT INTO "costbase_networkeditionevent" ("contents", "created", "id", "kind", "network_id", "pgh_context", "pgh_created_at", "pgh_label", "pgh_obj_id", "slug", "used", "valid_from", "withdrawn_on") VALUES (NEW."contents", NEW."created", NEW."id", NEW."kind", NEW."network_id", COALESCE(NULLIF(CURRENT_SETTING(\'pghistory.context_metadata\', TRUE), \'\'), NULL)::JSONB, NOW(), \'update\', NEW."id", NEW."slug", NEW."used", NEW."valid_from", NEW."withdrawn_on"); RETURN NULL;', hash='7f0cee8a70a3a4f687bb3e4629009afbf43d1630', operation='UPDATE', pgid='pgtrigger_update_update_f7656', table='costbase_networkedition', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='networkedition',
            trigger=pgtrigger.compiler.Trigger(name='delete_delete', sql=pgtrigger.compiler.UpsertTriggerSql(func='INSERT INTO "costbase_networkeditionevent" ("contents", "created", "id", "kind", "network_id", "pgh_context", "pgh_created_at", "pgh_label", "pgh_obj_id", "slug", "used", "valid_from", "withdrawn_on") VALUES (OLD."contents", OLD."created", OLD."id", OLD."kind", OLD."network_id", COALESCE(NULLIF(CURRENT_SETTING(\'pghistory.context_metadata\', TRUE), \'\'), NULL)::JSONB, NOW(), \'delete\', OLD."id", OLD."slug", OLD."used", OLD."valid_from", OLD."withdrawn_on"); RETURN NULL;', hash='f3ad68dfe065c4990fce7a69b890ce5f8c8c7cdf', operation='DELETE', pgid='pgtrigger_delete_delete_b740b', table='costbase_networkedition', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='shopedition',
            trigger=pgtrigger.compiler.Trigger(name='insert_insert', sql=pgtrigger.compiler.UpsertTriggerSql(func='INSERT INTO "costbase_shopeditionevent" ("came_from", "contents", "created", "id", "kind", "pgh_context", "pgh_created_at", "pgh_label", "pgh_obj_id", "shop_id", "slug", "used", "valid_from", "withdrawn_on") VALUES (NEW."came_from", NEW."contents", NEW."created", NEW."id", NEW."kind", COALESCE(NULLIF(CURRENT_SETTING(\'pghistory.context_metadata\', TRUE), \'\'), NULL)::JSONB, NOW(), \'insert\', NEW."id", NEW."shop_id", NEW."slug", NEW."used", NEW."valid_from", NEW."withdrawn_on"); RETURN NULL;', hash='c0a0fb9d05ada28f94f2812f73797c5da5ef92ca', operation='INSERT', pgid='pgtrigger_insert_insert_dd283', table='costbase_shopedition', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='shopedition',
            trigger=pgtrigger.compiler.Trigger(name='update_update', sql=pgtrigger.compiler.UpsertTriggerSql(condition='WHEN (OLD.* IS DISTINCT FROM NEW.*)', func='INSERT INTO "costbase_shopeditionevent" ("came_from", "contents", "created", "id", "kind", "pgh_context", "pgh_created_at", "pgh_label", "pgh_obj_id", "shop_id", "slug", "used", "valid_from", "withdrawn_on") VALUES (NEW."came_from", NEW."contents", NEW."created", NEW."id", NEW."kind", COALESCE(NULLIF(CURRENT_SETTING(\'pghistory.context_metadata\', TRUE), \'\'), NULL)::JSONB, NOW(), \'update\', NEW."id", NEW."shop_id", NEW."slug", NEW."used", NEW."valid_from", NEW."withdrawn_on"); RETURN NULL;', hash='6f9e03cbf1a66909656e0ffe75aa7961b40d1388', operation='UPDATE', pgid='pgtrigger_update_update_53b28', table='costbase_shopedition', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='shopedition',
            trigger=pgtrigger.compiler.Trigger(name='delete_delete', sql=pgtrigger.compiler.UpsertTriggerSql(func='INSERT INTO "costbase_shopeditionevent" ("came_from", "contents", "created", "id", "kind", "pgh_context", "pgh_created_at", "pgh_label", "pgh_obj_id", "shop_id", "slug", "used", "valid_from", "withdrawn_on") VALUES (OLD."came_from", OLD."contents", OLD."created", OLD."id", OLD."kind", COALESCE(NULLIF(CURRENT_SETTING(\'pghistory.context_metadata\', TRUE), \'\'), NULL)::JSONB, NOW(), \'delete\', OLD."id", OLD."shop_id", OLD."slug", OLD."used", OLD."valid_from", OLD."withdrawn_on"); RETURN NULL;', hash='33d3337042d0e8f210103fc3195ed8cdc94bd780', operation='DELETE', pgid='pgtrigger_delete_delete_21dd8', table='costbase_shopedition', when='AFTER')),
        ),
    ]
