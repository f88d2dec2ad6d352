"""Open jobs, and those that were closed in a time, are found without a look at the others."""

from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ("quotes", "0012_offers_by_day_of_issue"),
    ]

    operations = [
        migrations.AddIndex(
            model_name="job",
            index=models.Index(condition=models.Q(("closed_on", None)), fields=["shop", "-created", "-id"], name="job_open_newest_first"),
        ),
        migrations.AddIndex(
            model_name="job",
            index=models.Index(condition=models.Q(("closed_on__isnull", False)), fields=["shop", "closed_on"], name="job_by_closing_day"),
        ),
    ]
