"""A shop's offers of a time are a range of one index."""

from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ("quotes", "0011_jobs_take_up_the_whole"),
    ]

    operations = [
        migrations.AddIndex(
            model_name="quote",
            index=models.Index(condition=models.Q(("issued_at__isnull", False)), fields=["shop", "issued_at"], name="quote_by_issue"),
        ),
    ]
