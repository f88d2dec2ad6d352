"""Keys, row policies and grants of the tables of accounts."""

from django.db import migrations


class Migration(migrations.Migration):
    replaces = [
        ("accounts", "0002_people_grants"),
        ("accounts", "0004_owner_link_grants"),
    ]
    dependencies = [("accounts", "0001_people_and_links")]

    operations = [
        migrations.RunSQL(
            """
REVOKE ALL ON accounts_membership FROM roof_app;
GRANT SELECT, INSERT, UPDATE, DELETE ON accounts_membership TO roof_app;
""",
            """
REVOKE ALL ON accounts_membership FROM roof_app;
""",
        ),
        migrations.RunSQL(
            """
REVOKE ALL ON accounts_membershipevent FROM roof_app;
GRANT SELECT, INSERT ON accounts_membershipevent TO roof_app;
""",
            """
REVOKE ALL ON accounts_membershipevent FROM roof_app;
""",
        ),
        migrations.RunSQL(
            """
REVOKE ALL ON accounts_person FROM roof_app;
GRANT SELECT, INSERT, UPDATE ON accounts_person TO roof_app;
""",
            """
REVOKE ALL ON accounts_person FROM roof_app;
""",
        ),
        migrations.RunSQL(
            """
REVOKE ALL ON accounts_token FROM roof_app;
GRANT SELECT, INSERT, UPDATE ON accounts_token TO roof_app;
""",
            """
REVOKE ALL ON accounts_token FROM roof_app;
""",
        ),
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
