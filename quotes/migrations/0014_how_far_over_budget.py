"""Jobs over budget are those with a difference above 0, of which statistics can be kept."""

from django.db import migrations, models
from django.db.models.expressions import CombinedExpression
from django.db.models.lookups import GreaterThan


class Migration(migrations.Migration):

    dependencies = [
        ("quotes", "0013_open_and_closed_jobs"),
    ]

    operations = [
        migrations.RemoveIndex(
            model_name="closedjob",
            name="closed_job_over_budget",
        ),
        migrations.AddIndex(
            model_name="closedjob",
            index=models.Index(
                condition=models.Q(GreaterThan(CombinedExpression(models.F("actual_cost"), "-", models.F("planned_cost")), 0)),
                fields=["shop", "-closed_on", "-id"],
                name="closed_job_over_budget",
            ),
        ),
    ]
