"""Keys, row policies and grants of quotes_estimatedecision, quotes_estimatedecisionevent, quotes_secondestimate, quotes_secondestimateevent, quotes_secondestimateline, quotes_secondestimatelineevent."""

from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("quotes", "0018_second_estimates")]

    operations = [
        migrations.RunSQL(
            """
ALTER TABLE quotes_estimatedecision DROP CONSTRAINT quotes_estimatedecision_pkey,
    ADD CONSTRAINT quotes_estimatedecision_pkey PRIMARY KEY (shop_id, id);
""",
            """
ALTER TABLE quotes_estimatedecision DROP CONSTRAINT quotes_estimatedecision_pkey,
    ADD CONSTRAINT quotes_estimatedecision_pkey PRIMARY KEY (id);
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_estimatedecisionevent DROP CONSTRAINT quotes_estimatedecisionevent_pkey,
    ADD CONSTRAINT quotes_estimatedecisionevent_pkey PRIMARY KEY (shop_id, pgh_id);
""",
            """
ALTER TABLE quotes_estimatedecisionevent DROP CONSTRAINT quotes_estimatedecisionevent_pkey,
    ADD CONSTRAINT quotes_estimatedecisionevent_pkey PRIMARY KEY (pgh_id);
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_secondestimate DROP CONSTRAINT quotes_secondestimate_pkey,
    ADD CONSTRAINT quotes_secondestimate_pkey PRIMARY KEY (shop_id, id);
""",
            """
ALTER TABLE quotes_secondestimate DROP CONSTRAINT quotes_secondestimate_pkey,
    ADD CONSTRAINT quotes_secondestimate_pkey PRIMARY KEY (id);
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_secondestimateevent DROP CONSTRAINT quotes_secondestimateevent_pkey,
    ADD CONSTRAINT quotes_secondestimateevent_pkey PRIMARY KEY (shop_id, pgh_id);
""",
            """
ALTER TABLE quotes_secondestimateevent DROP CONSTRAINT quotes_secondestimateevent_pkey,
    ADD CONSTRAINT quotes_secondestimateevent_pkey PRIMARY KEY (pgh_id);
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_secondestimateline DROP CONSTRAINT quotes_secondestimateline_pkey,
    ADD CONSTRAINT quotes_secondestimateline_pkey PRIMARY KEY (shop_id, id);
""",
            """
ALTER TABLE quotes_secondestimateline DROP CONSTRAINT quotes_secondestimateline_pkey,
    ADD CONSTRAINT quotes_secondestimateline_pkey PRIMARY KEY (id);
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_secondestimatelineevent DROP CONSTRAINT quotes_secondestimatelineevent_pkey,
    ADD CONSTRAINT quotes_secondestimatelineevent_pkey PRIMARY KEY (shop_id, pgh_id);
""",
            """
ALTER TABLE quotes_secondestimatelineevent DROP CONSTRAINT quotes_secondestimatelineevent_pkey,
    ADD CONSTRAINT quotes_secondestimatelineevent_pkey PRIMARY KEY (pgh_id);
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_estimatedecision ADD CONSTRAINT quotes_estimatedecision_estimate_in_shop FOREIGN KEY (shop_id, estimate_id)
    REFERENCES quotes_secondestimate (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
""",
            """
ALTER TABLE quotes_estimatedecision DROP CONSTRAINT quotes_estimatedecision_estimate_in_shop;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_secondestimate ADD CONSTRAINT quotes_secondestimate_quote_in_shop FOREIGN KEY (shop_id, quote_id)
    REFERENCES quotes_quote (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
ALTER TABLE quotes_secondestimate ADD CONSTRAINT quotes_secondestimate_customer_in_shop FOREIGN KEY (shop_id, customer_id)
    REFERENCES quotes_customer (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
""",
            """
ALTER TABLE quotes_secondestimate DROP CONSTRAINT quotes_secondestimate_customer_in_shop;
ALTER TABLE quotes_secondestimate DROP CONSTRAINT quotes_secondestimate_quote_in_shop;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_secondestimateline ADD CONSTRAINT quotes_secondestimateline_estimate_in_shop FOREIGN KEY (shop_id, estimate_id)
    REFERENCES quotes_secondestimate (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
""",
            """
ALTER TABLE quotes_secondestimateline DROP CONSTRAINT quotes_secondestimateline_estimate_in_shop;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_estimatedecision ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY quotes_estimatedecision_of_shop ON quotes_estimatedecision FOR ALL
    USING (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint))
    WITH CHECK (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint));
REVOKE ALL ON quotes_estimatedecision FROM roof_app;
GRANT SELECT, INSERT, UPDATE, DELETE ON quotes_estimatedecision TO roof_app;
""",
            """
REVOKE ALL ON quotes_estimatedecision FROM roof_app;
DROP POLICY quotes_estimatedecision_of_shop ON quotes_estimatedecision;
ALTER TABLE quotes_estimatedecision NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_estimatedecisionevent ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY quotes_estimatedecisionevent_of_shop ON quotes_estimatedecisionevent FOR ALL
    USING (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint))
    WITH CHECK (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint));
REVOKE ALL ON quotes_estimatedecisionevent FROM roof_app;
GRANT SELECT, INSERT ON quotes_estimatedecisionevent TO roof_app;
""",
            """
REVOKE ALL ON quotes_estimatedecisionevent FROM roof_app;
DROP POLICY quotes_estimatedecisionevent_of_shop ON quotes_estimatedecisionevent;
ALTER TABLE quotes_estimatedecisionevent NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_secondestimate ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY quotes_secondestimate_of_shop ON quotes_secondestimate FOR ALL
    USING (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint))
    WITH CHECK (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint));
REVOKE ALL ON quotes_secondestimate FROM roof_app;
GRANT SELECT, INSERT, UPDATE, DELETE ON quotes_secondestimate TO roof_app;
""",
            """
REVOKE ALL ON quotes_secondestimate FROM roof_app;
DROP POLICY quotes_secondestimate_of_shop ON quotes_secondestimate;
ALTER TABLE quotes_secondestimate NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_secondestimateevent ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY quotes_secondestimateevent_of_shop ON quotes_secondestimateevent FOR ALL
    USING (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint))
    WITH CHECK (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint));
REVOKE ALL ON quotes_secondestimateevent FROM roof_app;
GRANT SELECT, INSERT ON quotes_secondestimateevent TO roof_app;
""",
            """
REVOKE ALL ON quotes_secondestimateevent FROM roof_app;
DROP POLICY quotes_secondestimateevent_of_shop ON quotes_secondestimateevent;
ALTER TABLE quotes_secondestimateevent NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_secondestimateline ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY quotes_secondestimateline_of_shop ON quotes_secondestimateline FOR ALL
    USING (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint))
    WITH CHECK (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint));
REVOKE ALL ON quotes_secondestimateline FROM roof_app;
GRANT SELECT, INSERT, UPDATE, DELETE ON quotes_secondestimateline TO roof_app;
""",
            """
REVOKE ALL ON quotes_secondestimateline FROM roof_app;
DROP POLICY quotes_secondestimateline_of_shop ON quotes_secondestimateline;
ALTER TABLE quotes_secondestimateline NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_secondestimatelineevent ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY quotes_secondestimatelineevent_of_shop ON quotes_secondestimatelineevent FOR ALL
    USING (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint))
    WITH CHECK (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint));
REVOKE ALL ON quotes_secondestimatelineevent FROM roof_app;
GRANT SELECT, INSERT ON quotes_secondestimatelineevent TO roof_app;
""",
            """
REVOKE ALL ON quotes_secondestimatelineevent FROM roof_app;
DROP POLICY quotes_secondestimatelineevent_of_shop ON quotes_secondestimatelineevent;
ALTER TABLE quotes_secondestimatelineevent NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
    ]
