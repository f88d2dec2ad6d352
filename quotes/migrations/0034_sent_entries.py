import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ("quotes", "0033_closed_job_policies"),
    ]

    operations = [
        migrations.AddField(
            model_name='countedsettlement',
            name='digest',
            field=models.CharField(blank=True, default='', max_length=64),
        ),
        migrations.AddField(
            model_name='foundnote',
            name='digest',
            field=models.CharField(blank=True, default='', max_length=64),
        ),
        migrations.AddField(
            model_name='foundnote',
            name='opening',
            field=models.ForeignKey(db_constraint=False, db_index=False, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='quotes.openingentry'),
        ),
        migrations.AddField(
            model_name='openingentry',
            name='digest',
            field=models.CharField(blank=True, default='', max_length=64),
        ),
    ]
