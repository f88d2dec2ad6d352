"""Keys, row policies and grants of costbase_run, costbase_runchunk."""

from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("costbase", "0006_runs")]

    operations = [
        migrations.RunSQL(
            """
REVOKE ALL ON costbase_run FROM roof_app;
GRANT SELECT, INSERT, UPDATE, DELETE ON costbase_run TO roof_app;
""",
            """
REVOKE ALL ON costbase_run FROM roof_app;
""",
        ),
        migrations.RunSQL(
            """
REVOKE ALL ON costbase_runchunk FROM roof_app;
GRANT SELECT, INSERT, UPDATE, DELETE ON costbase_runchunk TO roof_app;
""",
            """
REVOKE ALL ON costbase_runchunk FROM roof_app;
""",
        ),
    ]
