"""Another party's estimate stands beside a quote, with its lines and what was agreed about the differences."""

import django.db.models.deletion
import django.db.models.manager
import pghistory.utils
import pgtrigger.compiler
import pgtrigger.migrations
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('costbase', '0008_edition_notes'),
        ('quotes', '0017_payers_stay_issued'),
    ]

    operations = [
        migrations.CreateModel(
            name='SecondEstimate',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('party', models.CharField(max_length=12)),
                ('reference', models.CharField(blank=True, max_length=100)),
                ('dated_on', models.DateField()),
                ('stated_total', models.DecimalField(decimal_places=3, max_digits=16, null=True)),
                ('note', models.TextField(blank=True)),
                ('total', models.DecimalField(decimal_places=3, max_digits=16)),
                ('tax', models.DecimalField(decimal_places=3, max_digits=16, null=True)),
                ('version', models.PositiveIntegerField(default=1)),
                ('created', models.DateTimeField(auto_now_add=True)),
                ('created_by', models.BigIntegerField(null=True)),
                ('customer', models.ForeignKey(db_constraint=False, db_index=False, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='quotes.customer')),
                ('quote', models.ForeignKey(db_constraint=False, db_index=False, on_delete=django.db.models.deletion.CASCADE, related_name='+', to='quotes.quote')),
                ('shop', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='costbase.shop')),
            ],
            options={
                'indexes': [models.Index(fields=['shop', 'quote', '-id'], name='second_estimate_of_a_quote')],
                'constraints': [models.CheckConstraint(condition=models.Q(('party__in', ('insurer', 'warranty', 'fleet', 'owner', 'other-shop', 'adviser'))), name='second_estimate_party_is_known')],
            },
            managers=[
                ('_rows', django.db.models.manager.Manager()),
            ],
        ),
        migrations.CreateModel(
            name='EstimateDecision',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('difference', models.CharField(max_length=200)),
                ('state', models.CharField(max_length=13)),
                ('reason', models.TextField(blank=True)),
                ('kept', models.DecimalField(decimal_places=3, max_digits=16, null=True)),
                ('shop', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='costbase.shop')),
                ('estimate', models.ForeignKey(db_constraint=False, db_index=False, on_delete=django.db.models.deletion.CASCADE, related_name='+', to='quotes.secondestimate')),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('shop', 'estimate', 'difference'), name='estimate_decision_once'), models.CheckConstraint(condition=models.Q(('state__in', ('open', 'agreed-ours', 'agreed-theirs', 'split')), models.Q(models.Q(('kept__isnull', False), ('state', 'split')), models.Q(models.Q(('state', 'split'), _negated=True), ('kept', None)), _connector='OR')), name='estimate_decision_state_is_known')],
            },
            managers=[
                ('_rows', django.db.models.manager.Manager()),
            ],
        ),
        migrations.CreateModel(
            name='EstimateDecisionEvent',
            fields=[
                ('pgh_created_at', models.DateTimeField(auto_now_add=True)),
                ('pgh_label', models.TextField(help_text='The event label.')),
                ('pgh_id', models.BigAutoField(primary_key=True, serialize=False)),
                ('pgh_context', pghistory.utils.JSONField()),
                ('id', models.BigIntegerField()),
                ('difference', models.CharField(max_length=200)),
                ('state', models.CharField(max_length=13)),
                ('reason', models.TextField(blank=True)),
                ('kept', models.DecimalField(decimal_places=3, max_digits=16, null=True)),
                ('pgh_obj', models.ForeignKey(db_constraint=False, db_index=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='quotes.estimatedecision')),
                ('shop', models.ForeignKey(db_constraint=False, db_index=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='costbase.shop')),
                ('estimate', models.ForeignKey(db_constraint=False, db_index=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='quotes.secondestimate')),
            ],
            options={
                'abstract': False,
                'indexes': [models.Index(fields=['shop', 'pgh_obj'], name='quotes_esti_shop_id_31c8cf_idx')],
            },
            managers=[
                ('_rows', django.db.models.manager.Manager()),
            ],
        ),
        migrations.CreateModel(
            name='SecondEstimateEvent',
            fields=[
                ('pgh_created_at', models.DateTimeField(auto_now_add=True)),
                ('pgh_label', models.TextField(help_text='The event label.')),
                ('pgh_id', models.BigAutoField(primary_key=True, serialize=False)),
                ('pgh_context', pghistory.utils.JSONField()),
                ('id', models.BigIntegerField()),
                ('party', models.CharField(max_length=12)),
                ('dated_on', models.DateField()),
                ('stated_total', models.DecimalField(decimal_places=3, max_digits=16, null=True)),
                ('total', models.DecimalField(decimal_places=3, max_digits=16)),
                ('tax', models.DecimalField(decimal_places=3, max_digits=16, null=True)),
                ('version', models.PositiveIntegerField(default=1)),
                ('created', models.DateTimeField(auto_now_add=True)),
                ('created_by', models.BigIntegerField(null=True)),
                ('customer', models.ForeignKey(db_constraint=False, db_index=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='quotes.customer')),
                ('pgh_obj', models.ForeignKey(db_constraint=False, db_index=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='quotes.secondestimate')),
                ('quote', models.ForeignKey(db_constraint=False, db_index=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='quotes.quote')),
                ('shop', models.ForeignKey(db_constraint=False, db_index=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='costbase.shop')),
            ],
            options={
                'abstract': False,
                'indexes': [models.Index(fields=['shop', 'pgh_obj'], name='quotes_seco_shop_id_e42efb_idx')],
            },
            managers=[
                ('_rows', django.db.models.manager.Manager()),
            ],
        ),
        migrations.CreateModel(
            name='SecondEstimateLine',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('position', models.PositiveIntegerField()),
                ('number', models.CharField(max_length=20)),
                ('description', models.CharField(max_length=400)),
                ('phase', models.CharField(blank=True, max_length=63)),
                ('assembly', models.CharField(blank=True, max_length=63)),
                ('quantity', models.DecimalField(decimal_places=4, max_digits=16, null=True)),
                ('unit', models.CharField(blank=True, max_length=40)),
                ('price', models.DecimalField(decimal_places=6, max_digits=16, null=True)),
                ('amount', models.DecimalField(decimal_places=3, max_digits=16)),
                ('tax', models.DecimalField(decimal_places=3, max_digits=16, null=True)),
                ('ours', models.JSONField(default=list)),
                ('note', models.CharField(blank=True, max_length=400)),
                ('estimate', models.ForeignKey(db_constraint=False, db_index=False, on_delete=django.db.models.deletion.CASCADE, related_name='+', to='quotes.secondestimate')),
                ('shop', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='costbase.shop')),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('shop', 'estimate', 'position'), name='second_estimate_line_position'), models.UniqueConstraint(fields=('shop', 'estimate', 'number'), name='second_estimate_line_number')],
            },
            managers=[
                ('_rows', django.db.models.manager.Manager()),
            ],
        ),
        migrations.CreateModel(
            name='SecondEstimateLineEvent',
            fields=[
                ('pgh_created_at', models.DateTimeField(auto_now_add=True)),
                ('pgh_label', models.TextField(help_text='The event label.')),
                ('pgh_id', models.BigAutoField(primary_key=True, serialize=False)),
                ('pgh_context', pghistory.utils.JSONField()),
                ('id', models.BigIntegerField()),
                ('position', models.PositiveIntegerField()),
                ('number', models.CharField(max_length=20)),
                ('description', models.CharField(max_length=400)),
                ('phase', models.CharField(blank=True, max_length=63)),
                ('assembly', models.CharField(blank=True, max_length=63)),
                ('quantity', models.DecimalField(decimal_places=4, max_digits=16, null=True)),
                ('unit', models.CharField(blank=True, max_length=40)),
                ('price', models.DecimalField(decimal_places=6, max_digits=16, null=True)),
                ('amount', models.DecimalField(decimal_places=3, max_digits=16)),
                ('tax', models.DecimalField(decimal_places=3, max_digits=16, null=True)),
                ('ours', models.JSONField(default=list)),
                ('note', models.CharField(blank=True, max_length=400)),
                ('estimate', models.ForeignKey(db_constraint=False, db_index=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='quotes.secondestimate')),
                ('pgh_obj', models.ForeignKey(db_constraint=False, db_index=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='quotes.secondestimateline')),
                ('shop', models.ForeignKey(db_constraint=False, db_index=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='costbase.shop')),
            ],
            options={
                'abstract': False,
                'indexes': [models.Index(fields=['shop', 'pgh_obj'], name='quotes_seco_shop_id_fa0cd1_idx')],
            },
            managers=[
                ('_rows', django.db.models.manager.Manager()),
            ],
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='secondestimate',
            trigger=pgtrigger.compiler.Trigger(name='insert_insert', sql=pgtrigger.compiler.UpsertTriggerSql(func='INSERT INTO "quotes_secondestimateevent" ("created", "created_by", "customer_id", "dated_on", "id", "party", "pgh_context", "pgh_created_at", "pgh_label", "pgh_obj_id", "quote_id", "shop_id", "stated_total", "tax", "total", "version") VALUES (NEW."created", NEW."created_by", NEW."customer_id", NEW."dated_on", NEW."id", NEW."party", COALESCE(NULLIF(CURRENT_SETTING(\'pghistory.context_metadata\', TRUE), \'\'), NULL)::JSONB, NOW(), \'insert\', NEW."id", NEW."quote_id", NEW."shop_id", NEW."stated_total", NEW."tax", NEW."total", NEW."version"); RETURN NULL;', hash='3eeaaa51fcebd26bfdfdd5e17634c32d87e0131e', operation='INSERT', pgid='pgtrigger_insert_insert_a688b', table='quotes_secondestimate', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='secondestimate',
            trigger=pgtrigger.compiler.Trigger(name='update_update', sql=pgtrigger.compiler.UpsertTriggerSql(condition='WHEN (OLD."created" IS DISTINCT FROM (NEW."created") OR OLD."created_by" IS DISTINCT FROM (NEW."created_by") OR OLD."customer_id" IS DISTINCT FROM (NEW."customer_id") OR OLD."dated_on" IS DISTINCT FROM (NEW."dated_on") OR OLD."id" IS DISTINCT FROM (NEW."id") OR OLD."party" IS DISTINCT FROM (NEW."party") OR OLD."quote_id" IS DISTINCT FROM (NEW."quote_id") OR OLD."shop_id" IS DISTINCT FROM (NEW."shop_id") OR OLD."stated_total" IS DISTINCT FROM (NEW."stated_total") OR OLD."tax" IS DISTINCT FROM (NEW."tax") OR OLD."total" IS DISTINCT FROM (NEW."total") OR OLD."version" IS DISTINCT FROM (NEW."version"))', func='INSERT INTO "quotes_secondestimateevent" ("created", "created_by", "customer_id", "dated_on", "id", "party", "pgh_context", "pgh_created_at", "pgh_label", "pgh_obj_id", "quote_id", "shop_id", "stated_total", "tax", "total", "version") VALUES (NEW."created", NEW."created_by", NEW."customer_id", NEW."dated_on", NEW."id", NEW."party", COALESCE(NULLIF(CURRENT_SETTING(\'pghistory.context_metadata\', TRUE), \'\'), NULL)::JSONB, NOW(), \'update\', NEW."id", NEW."quote_id", NEW."shop_id", NEW."stated_total", NEW."tax", NEW."total", NEW."version"); RETURN NULL;', hash='5cb7c2db1c6c309e4b06a9965f26c085162a8774', operation='UPDATE', pgid='pgtrigger_update_update_8dd7b', table='quotes_secondestimate', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='secondestimate',
            trigger=pgtrigger.compiler.Trigger(name='delete_delete', sql=pgtrigger.compiler.UpsertTriggerSql(func='INSERT INTO "quotes_secondestimateevent" ("created", "created_by", "customer_id", "dated_on", "id", "party", "pgh_context", "pgh_created_at", "pgh_label", "pgh_obj_id", "quote_id", "shop_id", "stated_total", "tax", "total", "version") VALUES (OLD."created", OLD."created_by", OLD."customer_id", OLD."dated_on", OLD."id", OLD."party", COALESCE(NULLIF(CURRENT_SETTING(\'pghistory.context_metadata\', TRUE), \'\'), NULL)::JSONB, NOW(), \'delete\', OLD."id", OLD."quote_id", OLD."shop_id", OLD."stated_total", OLD."tax", OLD."total", OLD."version"); RETURN NULL;', hash='4517e07e030eb7cd58407cfdd4251c99080d3831', operation='DELETE', pgid='pgtrigger_delete_delete_1569f', table='quotes_secondestimate', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='estimatedecision',
            trigger=pgtrigger.compiler.Trigger(name='insert_insert', sql=pgtrigger.compiler.UpsertTriggerSql(func='INSERT INTO "quotes_estimatedecisionevent" ("difference", "estimate_id", "id", "kept", "pgh_context", "pgh_created_at", "pgh_label", "pgh_obj_id", "reason", "shop_id", "state") VALUES (NEW."difference", NEW."estimate_id", NEW."id", NEW."kept", COALESCE(NULLIF(CURRENT_SETTING(\'pghistory.context_metadata\', TRUE), \'\'), NULL)::JSONB, NOW(), \'insert\', NEW."id", NEW."reason", NEW."shop_id", NEW."state"); RETURN NULL;', hash='8a7984ca3a36d45617aa432653c5f48e17fb17e7', operation='INSERT', pgid='pgtrigger_insert_insert_c6652', table='quotes_estimatedecision', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='estimatedecision',
            trigger=pgtrigger.compiler.Trigger(name='update_update', sql=pgtrigger.compiler.UpsertTriggerSql(condition='WHEN (OLD.* IS DISTINCT FROM NEW.*)', func='INSERT INTO "quotes_estimatedecisionevent" ("difference", "estimate_id", "id", "kept", "pgh_context", "pgh_created_at", "pgh_label", "pgh_obj_id", "reason", "shop_id", "state") VALUES (NEW."difference", NEW."estimate_id", NEW."id", NEW."kept", COALESCE(NULLIF(CURRENT_SETTING(\'pghistory.context_metadata\', TRUE), \'\'), NULL)::JSONB, NOW(), \'update\', NEW."id", NEW."reason", NEW."shop_id", NEW."state"); RETURN NULL;', hash='91186181a99bf34ab8a8c92dcaba86997611c08a', operation='UPDATE', pgid='pgtrigger_update_update_df19a', table='quotes_estimatedecision', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='estimatedecision',
            trigger=pgtrigger.compiler.Trigger(name='delete_delete', sql=pgtrigger.compiler.UpsertTriggerSql(func='INSERT INTO "quotes_estimatedecisionevent" ("difference", "estimate_id", "id", "kept", "pgh_context", "pgh_created_at", "pgh_label", "pgh_obj_id", "reason", "shop_id", "state") VALUES (OLD."difference", OLD."estimate_id", OLD."id", OLD."kept", COALESCE(NULLIF(CURRENT_SETTING(\'pghistory.context_metadata\', TRUE), \'\'), NULL)::JSONB, NOW(), \'delete\', OLD."id", OLD."reason", OLD."shop_id", OLD."state"); RETURN NULL;', hash='8b3d1f423e61c641334062b95b3b917198b78c83', operation='DELETE', pgid='pgtrigger_delete_delete_6608e', table='quotes_estimatedecision', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='secondestimateline',
            trigger=pgtrigger.compiler.Trigger(name='insert_insert', sql=pgtrigger.compiler.UpsertTriggerSql(func='INSERT INTO "quotes_secondestimatelineevent" ("amount", "assembly", "description", "estimate_id", "id", "note", "number", "ours", "pgh_context", "pgh_created_at", "pgh_label", "pgh_obj_id", "phase", "position", "price", "quantity", "shop_id", "tax", "unit") VALUES (NEW."amount", NEW."assembly", NEW."description", NEW."estimate_id", NEW."id", NEW."note", NEW."number", NEW."ours", COALESCE(NULLIF(CURRENT_SETTING(\'pghistory.context_metadata\', TRUE), \'\'), NULL)::JSONB, NOW(), \'insert\', NEW."id", NEW."phase", NEW."position", NEW."price", NEW."quantity", NEW."shop_id", NEW."tax", NEW."unit"); RETURN NULL;', hash='098907a0da90fd995240cc9ce0be181963008597', operation='INSERT', pgid='pgtrigger_insert_insert_393d0', table='quotes_secondestimateline', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='secondestimateline',
            trigger=pgtrigger.compiler.Trigger(name='update_update', sql=pgtrigger.compiler.UpsertTriggerSql(condition='WHEN (OLD.* IS DISTINCT FROM NEW.*)', func='INSERT INTO "quotes_secondestimatelineevent" ("amount", "assembly", "description", "estimate_id", "id", "note", "number", "ours", "pgh_context", "pgh_created_at", "pgh_label", "pgh_obj_id", "phase", "position", "price", "quantity", "shop_id", "tax", "unit") VALUES (NEW."amount", NEW."assembly", NEW."description", NEW."estimate_id", NEW."id", NEW."note", NEW."number", NEW."ours", COALESCE(NULLIF(CURRENT_SETTING(\'pghistory.context_metadata\', TRUE), \'\'), NULL)::JSONB, NOW(), \'update\', NEW."id", NEW."phase", NEW."position", NEW."price", NEW."quantity", NEW."shop_id", NEW."tax", NEW."unit"); RETURN NULL;', hash='d6b5db17055338fd0e4ec9b887d47a1851f033c8', operation='UPDATE', pgid='pgtrigger_update_update_b6d77', table='quotes_secondestimateline', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='secondestimateline',
            trigger=pgtrigger.compiler.Trigger(name='delete_delete', sql=pgtrigger.compiler.UpsertTriggerSql(func='INSERT INTO "quotes_secondestimatelineevent" ("amount", "assembly", "description", "estimate_id", "id", "note", "number", "ours", "pgh_context", "pgh_created_at", "pgh_label", "pgh_obj_id", "phase", "position", "price", "quantity", "shop_id", "tax", "unit") VALUES (OLD."amount", OLD."assembly", OLD."description", OLD."estimate_id", OLD."id", OLD."note", OLD."number", OLD."ours", COALESCE(NULLIF(CURRENT_SETTING(\'pghistory.context_metadata\', TRUE), \'\'), NULL)::JSONB, NOW(), \'delete\', OLD."id", OLD."phase", OLD."position", OLD."price", OLD."quantity", OLD."shop_id", OLD."tax", OLD."unit"); RETURN NULL;', hash='1090703279a72961fda6501e8a74c73a432adeee', operation='DELETE', pgid='pgtrigger_delete_delete_d1e02', table='quotes_secondestimateline', when='AFTER')),
        ),
    ]
