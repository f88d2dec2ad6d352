import django.db.models.deletion
import pgtrigger.compiler
import pgtrigger.migrations
from django.db import migrations, models


class Migration(migrations.Migration):

    initial = True

    dependencies = [
    ]

    operations = [
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
            name='Shop',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('slug', models.CharField(max_length=63, unique=True)),
                ('name', models.CharField(max_length=200)),
                ('currency', models.CharField(max_length=3)),
                ('time_zone', models.CharField(max_length=64)),
                ('unit_system', models.CharField(choices=[('us', 'Us'), ('metric', 'Metric')], max_length=6)),
                ('shares_learning', models.BooleanField(default=False)),
                ('created', models.DateTimeField(auto_now_add=True)),
                ('network', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='shops', to='costbase.network')),
            ],
            options={
                'constraints': [models.CheckConstraint(condition=models.Q(('slug__regex', '^[a-z0-9]([a-z0-9-]{0,61}[a-z0-9])?$')), name='shop_slug_is_plain'), models.CheckConstraint(condition=models.Q(('name', ''), _negated=True), name='shop_has_a_name'), models.CheckConstraint(condition=models.Q(('currency__regex', '^[A-Z]{3}$')), name='shop_currency_is_a_code'), models.CheckConstraint(condition=models.Q(('unit_system__in', ['us', 'metric'])), name='shop_unit_system_is_known')],
            },
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='network',
            trigger=pgtrigger.compiler.Trigger(name='slug_stays', sql=pgtrigger.compiler.UpsertTriggerSql(condition='WHEN (OLD."slug" IS DISTINCT FROM (NEW."slug"))', func="RAISE EXCEPTION 'pgtrigger: Cannot update rows from % table', TG_TABLE_NAME;", hash='5a65a3bd3b1fee2b8f391a7201b90cc852debd99', operation='UPDATE', pgid='pgtrigger_slug_stays_2ab0b', table='costbase_network', when='BEFORE')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='shop',
            trigger=pgtrigger.compiler.Trigger(name='slug_stays', sql=pgtrigger.compiler.UpsertTriggerSql(condition='WHEN (OLD."slug" IS DISTINCT FROM (NEW."slug"))', func="RAISE EXCEPTION 'pgtrigger: Cannot update rows from % table', TG_TABLE_NAME;", hash='86eb633b892e2e97ba6a00767af831a6f504df5c', operation='UPDATE', pgid='pgtrigger_slug_stays_69343', table='costbase_shop', when='BEFORE')),
        ),
    ]
