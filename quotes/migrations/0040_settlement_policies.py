"""Keys, row policies and grants of quotes_settlement, quotes_settlementevent."""

from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("quotes", "0039_change_orders_and_settlements")]

    operations = [
        migrations.RunSQL(
            """
ALTER TABLE quotes_settlement DROP CONSTRAINT quotes_settlement_pkey,
    ADD CONSTRAINT quotes_settlement_pkey PRIMARY KEY (shop_id, id);
""",
            """
ALTER TABLE quotes_settlement DROP CONSTRAINT quotes_settlement_pkey,
    ADD CONSTRAINT quotes_settlement_pkey PRIMARY KEY (id);
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_settlementevent DROP CONSTRAINT quotes_settlementevent_pkey,
    ADD CONSTRAINT quotes_settlementevent_pkey PRIMARY KEY (shop_id, pgh_id);
""",
            """
ALTER TABLE quotes_settlementevent DROP CONSTRAINT quotes_settlementevent_pkey,
    ADD CONSTRAINT quotes_settlementevent_pkey PRIMARY KEY (pgh_id);
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_settlement ADD CONSTRAINT quotes_settlement_job_in_shop FOREIGN KEY (shop_id, job_id)
    REFERENCES quotes_job (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
ALTER TABLE quotes_settlement ADD CONSTRAINT quotes_settlement_consent_in_shop FOREIGN KEY (shop_id, consent_id)
    REFERENCES quotes_consent (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
""",
            """
ALTER TABLE quotes_settlement DROP CONSTRAINT quotes_settlement_consent_in_shop;
ALTER TABLE quotes_settlement DROP CONSTRAINT quotes_settlement_job_in_shop;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_settlement ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY quotes_settlement_of_shop ON quotes_settlement FOR ALL
    USING (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint))
    WITH CHECK (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint));
REVOKE ALL ON quotes_settlement FROM roof_app;
GRANT SELECT, INSERT, UPDATE, DELETE ON quotes_settlement TO roof_app;
""",
            """
REVOKE ALL ON quotes_settlement FROM roof_app;
DROP POLICY quotes_settlement_of_shop ON quotes_settlement;
ALTER TABLE quotes_settlement NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_settlementevent ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY quotes_settlementevent_of_shop ON quotes_settlementevent FOR ALL
    USING (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint))
    WITH CHECK (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint));
REVOKE ALL ON quotes_settlementevent FROM roof_app;
GRANT SELECT, INSERT ON quotes_settlementevent TO roof_app;
""",
            """
REVOKE ALL ON quotes_settlementevent FROM roof_app;
DROP POLICY quotes_settlementevent_of_shop ON quotes_settlementevent;
ALTER TABLE quotes_settlementevent NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
    ]
