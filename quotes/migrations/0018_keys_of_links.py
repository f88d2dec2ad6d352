from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('quotes', '0017_link_answer_policies'),
    ]

    operations = [
        migrations.AddField(
            model_name='idempotencykey',
            name='link_id',
            field=models.BigIntegerField(null=True),
        ),
        migrations.AlterField(
            model_name='idempotencykey',
            name='person_id',
            field=models.BigIntegerField(null=True),
        ),
        migrations.AddConstraint(
            model_name='idempotencykey',
            constraint=models.UniqueConstraint(fields=('shop', 'link_id', 'key'), name='idempotency_key_of_link_once'),
        ),
        migrations.AddConstraint(
            model_name='idempotencykey',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('link_id__isnull', True), ('person_id__isnull', False)), models.Q(('link_id__isnull', False), ('person_id__isnull', True)), _connector='OR'), name='idempotency_key_of_person_or_link'),
        ),
    ]
