"""Keys, row policies and grants of quotes_showndocument, quotes_withdrawal."""

from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("quotes", "0029_accepted_offers")]

    operations = [
        migrations.RunSQL(
            """
ALTER TABLE quotes_showndocument DROP CONSTRAINT quotes_showndocument_pkey,
    ADD CONSTRAINT quotes_showndocument_pkey PRIMARY KEY (shop_id, id);
""",
            """
ALTER TABLE quotes_showndocument DROP CONSTRAINT quotes_showndocument_pkey,
    ADD CONSTRAINT quotes_showndocument_pkey PRIMARY KEY (id);
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_withdrawal DROP CONSTRAINT quotes_withdrawal_pkey,
    ADD CONSTRAINT quotes_withdrawal_pkey PRIMARY KEY (shop_id, id);
""",
            """
ALTER TABLE quotes_withdrawal DROP CONSTRAINT quotes_withdrawal_pkey,
    ADD CONSTRAINT quotes_withdrawal_pkey PRIMARY KEY (id);
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_withdrawal ADD CONSTRAINT quotes_withdrawal_quote_in_shop FOREIGN KEY (shop_id, quote_id)
    REFERENCES quotes_quote (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
""",
            """
ALTER TABLE quotes_withdrawal DROP CONSTRAINT quotes_withdrawal_quote_in_shop;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_showndocument ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY quotes_showndocument_of_shop ON quotes_showndocument FOR ALL
    USING (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint))
    WITH CHECK (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint));
REVOKE ALL ON quotes_showndocument FROM roof_app;
GRANT SELECT, INSERT ON quotes_showndocument TO roof_app;
""",
            """
REVOKE ALL ON quotes_showndocument FROM roof_app;
DROP POLICY quotes_showndocument_of_shop ON quotes_showndocument;
ALTER TABLE quotes_showndocument NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_withdrawal ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY quotes_withdrawal_of_shop ON quotes_withdrawal FOR ALL
    USING (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint))
    WITH CHECK (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint));
REVOKE ALL ON quotes_withdrawal FROM roof_app;
GRANT SELECT, INSERT ON quotes_withdrawal TO roof_app;
""",
            """
REVOKE ALL ON quotes_withdrawal FROM roof_app;
DROP POLICY quotes_withdrawal_of_shop ON quotes_withdrawal;
ALTER TABLE quotes_withdrawal NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
    ]
