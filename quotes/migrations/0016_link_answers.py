import django.db.models.deletion
import django.db.models.manager
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('costbase', '0003_used_network_editions'),
        ('quotes', '0015_spread_of_overruns'),
    ]

    operations = [
        migrations.CreateModel(
            name='LinkAnswer',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('fingerprint', models.CharField(max_length=64)),
                ('answer', models.TextField()),
                ('created', models.DateTimeField()),
                ('consent', models.ForeignKey(db_constraint=False, db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='quotes.consent')),
                ('shop', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='costbase.shop')),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('shop', 'consent'), name='link_answer_once')],
            },
            managers=[
                ('_rows', django.db.models.manager.Manager()),
            ],
        ),
    ]
