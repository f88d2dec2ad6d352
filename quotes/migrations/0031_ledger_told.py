"""What an entry of the ledger says besides its figures, by which it is known again, and that only corrections take back."""

from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [

        ("quotes", "0030_accepted_offer_policies"),
    ]

    operations = [
        migrations.RemoveConstraint(
            model_name='ledgerentry',
            name='ledger_other_hours_have_no_job',
        ),
        migrations.AddField(
            model_name='ledgerentry',
            name='markup_class',
            field=models.CharField(blank=True, default='', max_length=63),
        ),
        migrations.AddField(
            model_name='ledgerentry',
            name='returnable',
            field=models.BooleanField(null=True),
        ),
        migrations.AddField(
            model_name='ledgerentry',
            name='said',
            field=models.CharField(blank=True, default='', max_length=64),
        ),
        migrations.AddField(
            model_name='ledgerentry',
            name='source',
            field=models.CharField(blank=True, default='', max_length=5),
        ),
        migrations.AddField(
            model_name='ledgerentry',
            name='valued_by',
            field=models.CharField(blank=True, default='', max_length=7),
        ),
        migrations.AddField(
            model_name='ledgerentry',
            name='words',
            field=models.CharField(blank=True, default='', max_length=200),
        ),
        migrations.AddIndex(
            model_name='ledgerentry',
            index=models.Index(condition=models.Q(('worker__isnull', False)), fields=['shop', 'worker', 'day'], name='ledger_of_worker'),
        ),
        migrations.AddIndex(
            model_name='ledgerentry',
            index=models.Index(condition=models.Q(('invoice', ''), _negated=True), fields=['shop', 'supplier', 'invoice'], name='ledger_of_invoice'),
        ),
        migrations.AddConstraint(
            model_name='ledgerentry',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('job', None), ('kind', 'other_hours')), ('kind', 'purchase'), models.Q(models.Q(('kind__in', ['other_hours', 'purchase']), _negated=True), ('job__isnull', False)), _connector='OR'), name='ledger_other_hours_have_no_job'),
        ),
        migrations.AddConstraint(
            model_name='ledgerentry',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('corrects', None), ('quantity__gt', 0)), models.Q(('corrects__isnull', False), ('quantity__lt', 0)), _connector='OR'), name='ledger_only_corrections_take_back'),
        ),
        migrations.AddConstraint(
            model_name='ledgerentry',
            constraint=models.CheckConstraint(condition=models.Q(('source__in', ['', 'stock', 'job'])), name='ledger_source_is_known'),
        ),
        migrations.AddConstraint(
            model_name='ledgerentry',
            constraint=models.CheckConstraint(condition=models.Q(('valued_by__in', ['', 'frozen', 'edition'])), name='ledger_value_is_told'),
        ),
    ]
