"""Up to three quotes stand under one number and revision, and each is called something."""

import pgtrigger.compiler
import pgtrigger.migrations
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('quotes', '0010_units_of_lines'),
    ]

    operations = [
        pgtrigger.migrations.RemoveTrigger(
            model_name='quote',
            name='insert_insert',
        ),
        pgtrigger.migrations.RemoveTrigger(
            model_name='quote',
            name='update_update',
        ),
        pgtrigger.migrations.RemoveTrigger(
            model_name='quote',
            name='delete_delete',
        ),
        migrations.RemoveConstraint(
            model_name='quote',
            name='quote_number_and_revision',
        ),
        migrations.AddField(
            model_name='quote',
            name='alternative',
            field=models.PositiveSmallIntegerField(default=1),
        ),
        migrations.AddField(
            model_name='quote',
            name='label',
            field=models.CharField(blank=True, default='', max_length=100),
        ),
        migrations.AddField(
            model_name='quoteevent',
            name='alternative',
            field=models.PositiveSmallIntegerField(default=1),
        ),
        migrations.AddField(
            model_name='quoteevent',
            name='label',
            field=models.CharField(blank=True, default='', max_length=100),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='quote',
            trigger=pgtrigger.compiler.Trigger(name='insert_insert', sql=pgtrigger.compiler.UpsertTriggerSql(func='INSERT INTO "quotes_quoteevent" ("allowance", "alternative", "base", "base_with_tax", "chance_nothing_found", "checked_share", "coach_id", "contingency", "cost", "cost_base_id", "created", "created_by", "currency", "customer_id", "engine", "hours", "id", "issued_at", "issued_by", "label", "level", "limit", "limit_with_tax", "number", "p50", "p80", "p90", "pgh_context", "pgh_created_at", "pgh_label", "pgh_obj_id", "plan", "price_basis", "priced_on", "provisional", "record", "reference", "reserve", "revision", "shop_id", "state", "survey_id", "tier", "valid_until", "version") VALUES (NEW."allowance", NEW."alternative", NEW."base", NEW."base_with_tax", NEW."chance_nothing_found", NEW."checked_share", NEW."coach_id", NEW."contingency", NEW."cost", NEW."cost_base_id", NEW."created", NEW."created_by", NEW."currency", NEW."customer_id", NEW."engine", NEW."hours", NEW."id", NEW."issued_at", NEW."issued_by", NEW."label", NEW."level", NEW."limit", NEW."limit_with_tax", NEW."number", NEW."p50", NEW."p80", NEW."p90", COALESCE(NULLIF(CURRENT_SETTING(\'pghistory.context_metadata\', TRUE), \'\'), NULL)::JSONB, NOW(), \'insert\', NEW."id", NEW."plan", NEW."price_basis", NEW."priced_on", NEW."provisional", NEW."record", NEW."reference", NEW."reserve", NEW."revision", NEW."shop_id", NEW."state", NEW."survey_id", NEW."tier", NEW."valid_until", NEW."version"); RETURN NULL;', hash='0398d036c54d63bb0788abbed1817c572516753a', operation='INSERT', pgid='pgtrigger_insert_insert_6053a', table='quotes_quote', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='quote',
            trigger=pgtrigger.compiler.Trigger(name='update_update', sql=pgtrigger.compiler.UpsertTriggerSql(condition='WHEN (OLD."allowance" IS DISTINCT FROM (NEW."allowance") OR OLD."alternative" IS DISTINCT FROM (NEW."alternative") OR OLD."base" IS DISTINCT FROM (NEW."base") OR OLD."base_with_tax" IS DISTINCT FROM (NEW."base_with_tax") OR OLD."chance_nothing_found" IS DISTINCT FROM (NEW."chance_nothing_found") OR OLD."checked_share" IS DISTINCT FROM (NEW."checked_share") OR OLD."coach_id" IS DISTINCT FROM (NEW."coach_id") OR OLD."contingency" IS DISTINCT FROM (NEW."contingency") OR OLD."cost" IS DISTINCT FROM (NEW."cost") OR OLD."cost_base_id" IS DISTINCT FROM (NEW."cost_base_id") OR OLD."created" IS DISTINCT FROM (NEW."created") OR OLD."created_by" IS DISTINCT FROM (NEW."created_by") OR OLD."currency" IS DISTINCT FROM (NEW."currency") OR OLD."customer_id" IS DISTINCT FROM (NEW."customer_id") OR OLD."engine" IS DISTINCT FROM (NEW."engine") OR OLD."hours" IS DISTINCT FROM (NEW."hours") OR OLD."id" IS DISTINCT FROM (NEW."id") OR OLD."issued_at" IS DISTINCT FROM (NEW."issued_at") OR OLD."issued_by" IS DISTINCT FROM (NEW."issued_by") OR OLD."label" IS DISTINCT FROM (NEW."label") OR OLD."level" IS DISTINCT FROM (NEW."level") OR OLD."limit" IS DISTINCT FROM (NEW."limit") OR OLD."limit_with_tax" IS DISTINCT FROM (NEW."limit_with_tax") OR OLD."number" IS DISTINCT FROM (NEW."number") OR OLD."p50" IS DISTINCT FROM (NEW."p50") OR OLD."p80" IS DISTINCT FROM (NEW."p80") OR OLD."p90" IS DISTINCT FROM (NEW."p90") OR OLD."plan" IS DISTINCT FROM (NEW."plan") OR OLD."price_basis" IS DISTINCT FROM (NEW."price_basis") OR OLD."priced_on" IS DISTINCT FROM (NEW."priced_on") OR OLD."provisional" IS DISTINCT FROM (NEW."provisional") OR OLD."record" IS DISTINCT FROM (NEW."record") OR OLD."reference" IS DISTINCT FROM (NEW."reference") OR OLD."reserve" IS DISTINCT FROM (NEW."reserve") OR OLD."revision" IS DISTINCT FROM (NEW."revision") OR OLD."shop_id" IS DISTINCT FROM (NEW."shop_id") OR OLD."state" IS DISTINCT FROM (NEW."state") OR OLD."survey_id" IS DISTINCT FROM (NEW."survey_id") OR OLD."tier" IS DISTINCT FROM (NEW."tier") OR OLD."valid_until" IS DISTINCT FROM (NEW."valid_until") OR OLD."version" IS DISTINCT FROM (NEW."version"))', func='INSERT INTO "quotes_quoteevent" ("allowance", "alternative", "base", "base_with_tax", "chance_nothing_found", "checked_share", "coach_id", "contingency", "cost", "cost_base_id", "created", "created_by", "currency", "customer_id", "engine", "hours", "id", "issued_at", "issued_by", "label", "level", "limit", "limit_with_tax", "number", "p50", "p80", "p90", "pgh_context", "pgh_created_at", "pgh_label", "pgh_obj_id", "plan", "price_basis", "priced_on", "provisional", "record", "reference", "reserve", "revision", "shop_id", "state", "survey_id", "tier", "valid_until", "version") VALUES (NEW."allowance", NEW."alternative", NEW."base", NEW."base_with_tax", NEW."chance_nothing_found", NEW."checked_share", NEW."coach_id", NEW."contingency", NEW."cost", NEW."cost_base_id", NEW."created", NEW."created_by", NEW."currency", NEW."customer_id", NEW."engine", NEW."hours", NEW."id", NEW."issued_at", NEW."issued_by", NEW."label", NEW."level", NEW."limit", NEW."limit_with_tax", NEW."number", NEW."p50", NEW."p80", NEW."p90", COALESCE(NULLIF(CURRENT_SETTING(\'pghistory.context_metadata\', TRUE), \'\'), NULL)::JSONB, NOW(), \'update\', NEW."id", NEW."plan", NEW."price_basis", NEW."priced_on", NEW."provisional", NEW."record", NEW."reference", NEW."reserve", NEW."revision", NEW."shop_id", NEW."state", NEW."survey_id", NEW."tier", NEW."valid_until", NEW."version"); RETURN NULL;', hash='630180621b65dd66a5a9af400180a93bb276bfee', operation='UPDATE', pgid='pgtrigger_update_update_d2f7b', table='quotes_quote', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='quote',
            trigger=pgtrigger.compiler.Trigger(name='delete_delete', sql=pgtrigger.compiler.UpsertTriggerSql(func='INSERT INTO "quotes_quoteevent" ("allowance", "alternative", "base", "base_with_tax", "chance_nothing_found", "checked_share", "coach_id", "contingency", "cost", "cost_base_id", "created", "created_by", "currency", "customer_id", "engine", "hours", "id", "issued_at", "issued_by", "label", "level", "limit", "limit_with_tax", "number", "p50", "p80", "p90", "pgh_context", "pgh_created_at", "pgh_label", "pgh_obj_id", "plan", "price_basis", "priced_on", "provisional", "record", "reference", "reserve", "revision", "shop_id", "state", "survey_id", "tier", "valid_until", "version") VALUES (OLD."allowance", OLD."alternative", OLD."base", OLD."base_with_tax", OLD."chance_nothing_found", OLD."checked_share", OLD."coach_id", OLD."contingency", OLD."cost", OLD."cost_base_id", OLD."created", OLD."created_by", OLD."currency", OLD."customer_id", OLD."engine", OLD."hours", OLD."id", OLD."issued_at", OLD."issued_by", OLD."label", OLD."level", OLD."limit", OLD."limit_with_tax", OLD."number", OLD."p50", OLD."p80", OLD."p90", COALESCE(NULLIF(CURRENT_SETTING(\'pghistory.context_metadata\', TRUE), \'\'), NULL)::JSONB, NOW(), \'delete\', OLD."id", OLD."plan", OLD."price_basis", OLD."priced_on", OLD."provisional", OLD."record", OLD."reference", OLD."reserve", OLD."revision", OLD."shop_id", OLD."state", OLD."survey_id", OLD."tier", OLD."valid_until", OLD."version"); RETURN NULL;', hash='6705805edee3f1ae1001b9740463282daf18452d', operation='DELETE', pgid='pgtrigger_delete_delete_c7169', table='quotes_quote', when='AFTER')),
        ),
        migrations.AddConstraint(
            model_name='quote',
            constraint=models.UniqueConstraint(fields=('shop', 'number', 'revision', 'alternative'), name='quote_number_revision_alternative'),
        ),
        migrations.AddConstraint(
            model_name='quote',
            constraint=models.CheckConstraint(condition=models.Q(('alternative__gte', 1), ('alternative__lte', 3)), name='quote_alternatives_are_few'),
        ),
    ]
