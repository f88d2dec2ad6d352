"""Keys, row policies and grants of quotes_foundnote."""

from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("quotes", "0034_sent_entries")]

    operations = [
        migrations.RunSQL(
            """
ALTER TABLE quotes_foundnote ADD CONSTRAINT quotes_foundnote_opening_in_shop FOREIGN KEY (shop_id, opening_id)
    REFERENCES quotes_openingentry (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
""",
            """
ALTER TABLE quotes_foundnote DROP CONSTRAINT quotes_foundnote_opening_in_shop;
""",
        ),
    ]
