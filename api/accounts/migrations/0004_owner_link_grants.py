"""Keys, row policies and grants of accounts_ownerlink."""

from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("accounts", "0003_owner_links")]

    operations = [
        migrations.RunSQL(
            """
REVOKE ALL ON accounts_ownerlink FROM roof_app;
GRANT SELECT, INSERT, UPDATE ON accounts_ownerlink TO roof_app;
""",
            """
REVOKE ALL ON accounts_ownerlink FROM roof_app;
""",
        ),
    ]
