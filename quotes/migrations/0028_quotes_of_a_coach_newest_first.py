"""A coach's quotes, newest first, are a range of one index, and need no sort."""

from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('costbase', '0011_import_policies'),
        ('quotes', '0027_limits_move_by_consent'),
    ]

    operations = [
        migrations.RemoveIndex(
            model_name='quote',
            name='quote_of_a_coach',
        ),
        migrations.AddIndex(
            model_name='quote',
            index=models.Index(fields=['shop', 'coach', '-created', '-id'], name='quotes_of_a_coach'),
        ),
    ]
