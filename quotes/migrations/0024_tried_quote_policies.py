"""Keys, row policies and grants of quotes_triedquote."""

from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("quotes", "0023_tried_quotes")]

    operations = [
        migrations.RunSQL(
            """
ALTER TABLE quotes_triedquote DROP CONSTRAINT quotes_triedquote_pkey,
    ADD CONSTRAINT quotes_triedquote_pkey PRIMARY KEY (shop_id, id);
""",
            """
ALTER TABLE quotes_triedquote DROP CONSTRAINT quotes_triedquote_pkey,
    ADD CONSTRAINT quotes_triedquote_pkey PRIMARY KEY (id);
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_triedquote ADD CONSTRAINT quotes_triedquote_quote_in_shop FOREIGN KEY (shop_id, quote_id)
    REFERENCES quotes_quote (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
""",
            """
ALTER TABLE quotes_triedquote DROP CONSTRAINT quotes_triedquote_quote_in_shop;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_triedquote ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY quotes_triedquote_of_shop ON quotes_triedquote FOR ALL
    USING (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint))
    WITH CHECK (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint));
REVOKE ALL ON quotes_triedquote FROM roof_app;
GRANT SELECT, INSERT, UPDATE, DELETE ON quotes_triedquote TO roof_app;
""",
            """
REVOKE ALL ON quotes_triedquote FROM roof_app;
DROP POLICY quotes_triedquote_of_shop ON quotes_triedquote;
ALTER TABLE quotes_triedquote NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
    ]
