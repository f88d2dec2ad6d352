"""Keys, row policies and grants of quotes_payerrule, quotes_payerruleevent, quotes_quotepayer, quotes_quotepayerevent."""

from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("quotes", "0015_payers")]

    operations = [
        migrations.RunSQL(
            """
ALTER TABLE quotes_payerrule DROP CONSTRAINT quotes_payerrule_pkey,
    ADD CONSTRAINT quotes_payerrule_pkey PRIMARY KEY (shop_id, id);
""",
            """
ALTER TABLE quotes_payerrule DROP CONSTRAINT quotes_payerrule_pkey,
    ADD CONSTRAINT quotes_payerrule_pkey PRIMARY KEY (id);
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_payerruleevent DROP CONSTRAINT quotes_payerruleevent_pkey,
    ADD CONSTRAINT quotes_payerruleevent_pkey PRIMARY KEY (shop_id, pgh_id);
""",
            """
ALTER TABLE quotes_payerruleevent DROP CONSTRAINT quotes_payerruleevent_pkey,
    ADD CONSTRAINT quotes_payerruleevent_pkey PRIMARY KEY (pgh_id);
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_quotepayer DROP CONSTRAINT quotes_quotepayer_pkey,
    ADD CONSTRAINT quotes_quotepayer_pkey PRIMARY KEY (shop_id, id);
""",
            """
ALTER TABLE quotes_quotepayer DROP CONSTRAINT quotes_quotepayer_pkey,
    ADD CONSTRAINT quotes_quotepayer_pkey PRIMARY KEY (id);
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_quotepayerevent DROP CONSTRAINT quotes_quotepayerevent_pkey,
    ADD CONSTRAINT quotes_quotepayerevent_pkey PRIMARY KEY (shop_id, pgh_id);
""",
            """
ALTER TABLE quotes_quotepayerevent DROP CONSTRAINT quotes_quotepayerevent_pkey,
    ADD CONSTRAINT quotes_quotepayerevent_pkey PRIMARY KEY (pgh_id);
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_payerrule ADD CONSTRAINT quotes_payerrule_quote_in_shop FOREIGN KEY (shop_id, quote_id)
    REFERENCES quotes_quote (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
""",
            """
ALTER TABLE quotes_payerrule DROP CONSTRAINT quotes_payerrule_quote_in_shop;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_quotepayer ADD CONSTRAINT quotes_quotepayer_quote_in_shop FOREIGN KEY (shop_id, quote_id)
    REFERENCES quotes_quote (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
ALTER TABLE quotes_quotepayer ADD CONSTRAINT quotes_quotepayer_customer_in_shop FOREIGN KEY (shop_id, customer_id)
    REFERENCES quotes_customer (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
""",
            """
ALTER TABLE quotes_quotepayer DROP CONSTRAINT quotes_quotepayer_customer_in_shop;
ALTER TABLE quotes_quotepayer DROP CONSTRAINT quotes_quotepayer_quote_in_shop;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_payerrule ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY quotes_payerrule_of_shop ON quotes_payerrule FOR ALL
    USING (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint))
    WITH CHECK (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint));
REVOKE ALL ON quotes_payerrule FROM roof_app;
GRANT SELECT, INSERT, UPDATE, DELETE ON quotes_payerrule TO roof_app;
""",
            """
REVOKE ALL ON quotes_payerrule FROM roof_app;
DROP POLICY quotes_payerrule_of_shop ON quotes_payerrule;
ALTER TABLE quotes_payerrule NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_payerruleevent ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY quotes_payerruleevent_of_shop ON quotes_payerruleevent FOR ALL
    USING (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint))
    WITH CHECK (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint));
REVOKE ALL ON quotes_payerruleevent FROM roof_app;
GRANT SELECT, INSERT ON quotes_payerruleevent TO roof_app;
""",
            """
REVOKE ALL ON quotes_payerruleevent FROM roof_app;
DROP POLICY quotes_payerruleevent_of_shop ON quotes_payerruleevent;
ALTER TABLE quotes_payerruleevent NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_quotepayer ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY quotes_quotepayer_of_shop ON quotes_quotepayer FOR ALL
    USING (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint))
    WITH CHECK (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint));
REVOKE ALL ON quotes_quotepayer FROM roof_app;
GRANT SELECT, INSERT, UPDATE, DELETE ON quotes_quotepayer TO roof_app;
""",
            """
REVOKE ALL ON quotes_quotepayer FROM roof_app;
DROP POLICY quotes_quotepayer_of_shop ON quotes_quotepayer;
ALTER TABLE quotes_quotepayer NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_quotepayerevent ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY quotes_quotepayerevent_of_shop ON quotes_quotepayerevent FOR ALL
    USING (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint))
    WITH CHECK (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint));
REVOKE ALL ON quotes_quotepayerevent FROM roof_app;
GRANT SELECT, INSERT ON quotes_quotepayerevent TO roof_app;
""",
            """
REVOKE ALL ON quotes_quotepayerevent FROM roof_app;
DROP POLICY quotes_quotepayerevent_of_shop ON quotes_quotepayerevent;
ALTER TABLE quotes_quotepayerevent NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
    ]
