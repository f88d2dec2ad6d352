"""What the service's login role may do with the tables that libraries made.

It reads which migrations are applied, to say whether it is ready. The history library's shared table of authors is unused: every
event carries its own author, which no other event's writer can touch.
"""

from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("costbase", "0004_edition_policies"), ("pghistory", "0007_auto_20250421_0444")]

    operations = [
        migrations.RunSQL(
            """
REVOKE ALL ON django_migrations FROM roof_app;
GRANT SELECT ON django_migrations TO roof_app;
REVOKE ALL ON pghistory_context FROM roof_app;
""",
            """
REVOKE ALL ON django_migrations FROM roof_app;
""",
        ),
    ]
