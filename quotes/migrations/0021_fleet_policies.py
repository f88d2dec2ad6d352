"""Keys, row policies and grants of quotes_fleet, quotes_fleetevent, quotes_quote."""

from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("quotes", "0020_fleets")]

    operations = [
        migrations.RunSQL(
            """
ALTER TABLE quotes_fleet DROP CONSTRAINT quotes_fleet_pkey,
    ADD CONSTRAINT quotes_fleet_pkey PRIMARY KEY (shop_id, id);
""",
            """
ALTER TABLE quotes_fleet DROP CONSTRAINT quotes_fleet_pkey,
    ADD CONSTRAINT quotes_fleet_pkey PRIMARY KEY (id);
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_fleetevent DROP CONSTRAINT quotes_fleetevent_pkey,
    ADD CONSTRAINT quotes_fleetevent_pkey PRIMARY KEY (shop_id, pgh_id);
""",
            """
ALTER TABLE quotes_fleetevent DROP CONSTRAINT quotes_fleetevent_pkey,
    ADD CONSTRAINT quotes_fleetevent_pkey PRIMARY KEY (pgh_id);
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_fleet ADD CONSTRAINT quotes_fleet_customer_in_shop FOREIGN KEY (shop_id, customer_id)
    REFERENCES quotes_customer (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
ALTER TABLE quotes_fleet ADD CONSTRAINT quotes_fleet_cost_base_in_shop FOREIGN KEY (shop_id, cost_base_id)
    REFERENCES quotes_frozencostbase (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
""",
            """
ALTER TABLE quotes_fleet DROP CONSTRAINT quotes_fleet_cost_base_in_shop;
ALTER TABLE quotes_fleet DROP CONSTRAINT quotes_fleet_customer_in_shop;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_quote ADD CONSTRAINT quotes_quote_fleet_in_shop FOREIGN KEY (shop_id, fleet_id)
    REFERENCES quotes_fleet (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
""",
            """
ALTER TABLE quotes_quote DROP CONSTRAINT quotes_quote_fleet_in_shop;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_fleet ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY quotes_fleet_of_shop ON quotes_fleet FOR ALL
    USING (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint))
    WITH CHECK (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint));
REVOKE ALL ON quotes_fleet FROM roof_app;
GRANT SELECT, INSERT, UPDATE, DELETE ON quotes_fleet TO roof_app;
""",
            """
REVOKE ALL ON quotes_fleet FROM roof_app;
DROP POLICY quotes_fleet_of_shop ON quotes_fleet;
ALTER TABLE quotes_fleet NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_fleetevent ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY quotes_fleetevent_of_shop ON quotes_fleetevent FOR ALL
    USING (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint))
    WITH CHECK (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint));
REVOKE ALL ON quotes_fleetevent FROM roof_app;
GRANT SELECT, INSERT ON quotes_fleetevent TO roof_app;
""",
            """
REVOKE ALL ON quotes_fleetevent FROM roof_app;
DROP POLICY quotes_fleetevent_of_shop ON quotes_fleetevent;
ALTER TABLE quotes_fleetevent NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
    ]
