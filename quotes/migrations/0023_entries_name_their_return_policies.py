"""Keys, row policies and grants of quotes_ledgerentry."""

from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("quotes", "0022_entries_name_their_return")]

    operations = [
        migrations.RunSQL(
            """
ALTER TABLE quotes_ledgerentry ADD CONSTRAINT quotes_ledgerentry_warranty_return_in_shop FOREIGN KEY (shop_id, warranty_return_id)
    REFERENCES quotes_warrantyreturn (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
""",
            """
ALTER TABLE quotes_ledgerentry DROP CONSTRAINT quotes_ledgerentry_warranty_return_in_shop;
""",
        ),
    ]
