"""Keys, row policies and grants of costbase_network, costbase_shop."""

from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("costbase", "0001_shops_and_networks")]

    operations = [
        migrations.RunSQL(
            """
REVOKE ALL ON costbase_network FROM roof_app;
GRANT SELECT, INSERT, UPDATE ON costbase_network TO roof_app;
""",
            """
REVOKE ALL ON costbase_network FROM roof_app;
""",
        ),
        migrations.RunSQL(
            """
REVOKE ALL ON costbase_shop FROM roof_app;
GRANT SELECT, INSERT, UPDATE ON costbase_shop TO roof_app;
""",
            """
REVOKE ALL ON costbase_shop FROM roof_app;
""",
        ),
    ]
