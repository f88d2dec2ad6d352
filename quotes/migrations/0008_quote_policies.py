"""Keys, row policies and grants of quotes_frozencostbase, quotes_quote, quotes_quotecomponent, quotes_quotecounter, quotes_quoteevent, quotes_quoteline."""

from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("quotes", "0007_quotes")]

    operations = [
        migrations.RunSQL(
            """
ALTER TABLE quotes_frozencostbase DROP CONSTRAINT quotes_frozencostbase_pkey,
    ADD CONSTRAINT quotes_frozencostbase_pkey PRIMARY KEY (shop_id, id);
""",
            """
ALTER TABLE quotes_frozencostbase DROP CONSTRAINT quotes_frozencostbase_pkey,
    ADD CONSTRAINT quotes_frozencostbase_pkey PRIMARY KEY (id);
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_quote DROP CONSTRAINT quotes_quote_pkey,
    ADD CONSTRAINT quotes_quote_pkey PRIMARY KEY (shop_id, id);
""",
            """
ALTER TABLE quotes_quote DROP CONSTRAINT quotes_quote_pkey,
    ADD CONSTRAINT quotes_quote_pkey PRIMARY KEY (id);
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_quotecomponent DROP CONSTRAINT quotes_quotecomponent_pkey,
    ADD CONSTRAINT quotes_quotecomponent_pkey PRIMARY KEY (shop_id, id);
""",
            """
ALTER TABLE quotes_quotecomponent DROP CONSTRAINT quotes_quotecomponent_pkey,
    ADD CONSTRAINT quotes_quotecomponent_pkey PRIMARY KEY (id);
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_quotecounter DROP CONSTRAINT quotes_quotecounter_pkey,
    ADD CONSTRAINT quotes_quotecounter_pkey PRIMARY KEY (shop_id, id);
""",
            """
ALTER TABLE quotes_quotecounter DROP CONSTRAINT quotes_quotecounter_pkey,
    ADD CONSTRAINT quotes_quotecounter_pkey PRIMARY KEY (id);
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_quoteevent DROP CONSTRAINT quotes_quoteevent_pkey,
    ADD CONSTRAINT quotes_quoteevent_pkey PRIMARY KEY (shop_id, pgh_id);
""",
            """
ALTER TABLE quotes_quoteevent DROP CONSTRAINT quotes_quoteevent_pkey,
    ADD CONSTRAINT quotes_quoteevent_pkey PRIMARY KEY (pgh_id);
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_quoteline DROP CONSTRAINT quotes_quoteline_pkey,
    ADD CONSTRAINT quotes_quoteline_pkey PRIMARY KEY (shop_id, id);
""",
            """
ALTER TABLE quotes_quoteline DROP CONSTRAINT quotes_quoteline_pkey,
    ADD CONSTRAINT quotes_quoteline_pkey PRIMARY KEY (id);
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_quote ADD CONSTRAINT quotes_quote_customer_in_shop FOREIGN KEY (shop_id, customer_id)
    REFERENCES quotes_customer (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
ALTER TABLE quotes_quote ADD CONSTRAINT quotes_quote_coach_in_shop FOREIGN KEY (shop_id, coach_id)
    REFERENCES quotes_coach (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
ALTER TABLE quotes_quote ADD CONSTRAINT quotes_quote_survey_in_shop FOREIGN KEY (shop_id, survey_id)
    REFERENCES quotes_survey (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
ALTER TABLE quotes_quote ADD CONSTRAINT quotes_quote_cost_base_in_shop FOREIGN KEY (shop_id, cost_base_id)
    REFERENCES quotes_frozencostbase (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
""",
            """
ALTER TABLE quotes_quote DROP CONSTRAINT quotes_quote_cost_base_in_shop;
ALTER TABLE quotes_quote DROP CONSTRAINT quotes_quote_survey_in_shop;
ALTER TABLE quotes_quote DROP CONSTRAINT quotes_quote_coach_in_shop;
ALTER TABLE quotes_quote DROP CONSTRAINT quotes_quote_customer_in_shop;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_quotecomponent ADD CONSTRAINT quotes_quotecomponent_quote_in_shop FOREIGN KEY (shop_id, quote_id)
    REFERENCES quotes_quote (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
""",
            """
ALTER TABLE quotes_quotecomponent DROP CONSTRAINT quotes_quotecomponent_quote_in_shop;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_quoteline ADD CONSTRAINT quotes_quoteline_quote_in_shop FOREIGN KEY (shop_id, quote_id)
    REFERENCES quotes_quote (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
""",
            """
ALTER TABLE quotes_quoteline DROP CONSTRAINT quotes_quoteline_quote_in_shop;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_frozencostbase ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY quotes_frozencostbase_of_shop ON quotes_frozencostbase FOR ALL
    USING (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint))
    WITH CHECK (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint));
REVOKE ALL ON quotes_frozencostbase FROM roof_app;
GRANT SELECT, INSERT ON quotes_frozencostbase TO roof_app;
""",
            """
REVOKE ALL ON quotes_frozencostbase FROM roof_app;
DROP POLICY quotes_frozencostbase_of_shop ON quotes_frozencostbase;
ALTER TABLE quotes_frozencostbase NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_quote ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY quotes_quote_of_shop ON quotes_quote FOR ALL
    USING (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint))
    WITH CHECK (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint));
REVOKE ALL ON quotes_quote FROM roof_app;
GRANT SELECT, INSERT, UPDATE, DELETE ON quotes_quote TO roof_app;
""",
            """
REVOKE ALL ON quotes_quote FROM roof_app;
DROP POLICY quotes_quote_of_shop ON quotes_quote;
ALTER TABLE quotes_quote NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_quotecomponent ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY quotes_quotecomponent_of_shop ON quotes_quotecomponent FOR ALL
    USING (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint))
    WITH CHECK (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint));
REVOKE ALL ON quotes_quotecomponent FROM roof_app;
GRANT SELECT, INSERT, UPDATE, DELETE ON quotes_quotecomponent TO roof_app;
""",
            """
REVOKE ALL ON quotes_quotecomponent FROM roof_app;
DROP POLICY quotes_quotecomponent_of_shop ON quotes_quotecomponent;
ALTER TABLE quotes_quotecomponent NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_quotecounter ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY quotes_quotecounter_of_shop ON quotes_quotecounter FOR ALL
    USING (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint))
    WITH CHECK (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint));
REVOKE ALL ON quotes_quotecounter FROM roof_app;
GRANT SELECT, INSERT, UPDATE, DELETE ON quotes_quotecounter TO roof_app;
""",
            """
REVOKE ALL ON quotes_quotecounter FROM roof_app;
DROP POLICY quotes_quotecounter_of_shop ON quotes_quotecounter;
ALTER TABLE quotes_quotecounter NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_quoteevent ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY quotes_quoteevent_of_shop ON quotes_quoteevent FOR ALL
    USING (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint))
    WITH CHECK (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint));
REVOKE ALL ON quotes_quoteevent FROM roof_app;
GRANT SELECT, INSERT ON quotes_quoteevent TO roof_app;
""",
            """
REVOKE ALL ON quotes_quoteevent FROM roof_app;
DROP POLICY quotes_quoteevent_of_shop ON quotes_quoteevent;
ALTER TABLE quotes_quoteevent NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_quoteline ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY quotes_quoteline_of_shop ON quotes_quoteline FOR ALL
    USING (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint))
    WITH CHECK (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint));
REVOKE ALL ON quotes_quoteline FROM roof_app;
GRANT SELECT, INSERT, UPDATE, DELETE ON quotes_quoteline TO roof_app;
""",
            """
REVOKE ALL ON quotes_quoteline FROM roof_app;
DROP POLICY quotes_quoteline_of_shop ON quotes_quoteline;
ALTER TABLE quotes_quoteline NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
    ]
