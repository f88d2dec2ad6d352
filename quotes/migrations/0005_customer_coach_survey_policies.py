"""Keys, row policies and grants of quotes_coach, quotes_coachevent, quotes_customer, quotes_idempotencykey, quotes_survey, quotes_surveyevent."""

from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("quotes", "0004_idempotency_keys")]

    operations = [
        migrations.RunSQL(
            """
ALTER TABLE quotes_coach DROP CONSTRAINT quotes_coach_pkey, ADD CONSTRAINT quotes_coach_pkey PRIMARY KEY (shop_id, id);
""",
            """
ALTER TABLE quotes_coach DROP CONSTRAINT quotes_coach_pkey, ADD CONSTRAINT quotes_coach_pkey PRIMARY KEY (id);
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_coachevent DROP CONSTRAINT quotes_coachevent_pkey, ADD CONSTRAINT quotes_coachevent_pkey PRIMARY KEY (shop_id, pgh_id);
""",
            """
ALTER TABLE quotes_coachevent DROP CONSTRAINT quotes_coachevent_pkey, ADD CONSTRAINT quotes_coachevent_pkey PRIMARY KEY (pgh_id);
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_customer DROP CONSTRAINT quotes_customer_pkey, ADD CONSTRAINT quotes_customer_pkey PRIMARY KEY (shop_id, id);
""",
            """
ALTER TABLE quotes_customer DROP CONSTRAINT quotes_customer_pkey, ADD CONSTRAINT quotes_customer_pkey PRIMARY KEY (id);
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_idempotencykey DROP CONSTRAINT quotes_idempotencykey_pkey, ADD CONSTRAINT quotes_idempotencykey_pkey PRIMARY KEY (shop_id, id);
""",
            """
ALTER TABLE quotes_idempotencykey DROP CONSTRAINT quotes_idempotencykey_pkey, ADD CONSTRAINT quotes_idempotencykey_pkey PRIMARY KEY (id);
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_survey DROP CONSTRAINT quotes_survey_pkey, ADD CONSTRAINT quotes_survey_pkey PRIMARY KEY (shop_id, id);
""",
            """
ALTER TABLE quotes_survey DROP CONSTRAINT quotes_survey_pkey, ADD CONSTRAINT quotes_survey_pkey PRIMARY KEY (id);
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_surveyevent DROP CONSTRAINT quotes_surveyevent_pkey, ADD CONSTRAINT quotes_surveyevent_pkey PRIMARY KEY (shop_id, pgh_id);
""",
            """
ALTER TABLE quotes_surveyevent DROP CONSTRAINT quotes_surveyevent_pkey, ADD CONSTRAINT quotes_surveyevent_pkey PRIMARY KEY (pgh_id);
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_coach ADD CONSTRAINT quotes_coach_customer_in_shop FOREIGN KEY (shop_id, customer_id)
    REFERENCES quotes_customer (shop_id, id) DEFERRABLE INITIALLY IMMEDIATE;
""",
            """
ALTER TABLE quotes_coach DROP CONSTRAINT quotes_coach_customer_in_shop;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_survey ADD CONSTRAINT quotes_survey_coach_in_shop FOREIGN KEY (shop_id, coach_id)
    REFERENCES quotes_coach (shop_id, id) DEFERRABLE INITIALLY IMMEDIATE;
""",
            """
ALTER TABLE quotes_survey DROP CONSTRAINT quotes_survey_coach_in_shop;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_coach ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY quotes_coach_of_shop ON quotes_coach FOR ALL
    USING (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint))
    WITH CHECK (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint));
REVOKE ALL ON quotes_coach FROM roof_app;
GRANT SELECT, INSERT, UPDATE, DELETE ON quotes_coach TO roof_app;
""",
            """
REVOKE ALL ON quotes_coach FROM roof_app;
DROP POLICY quotes_coach_of_shop ON quotes_coach;
ALTER TABLE quotes_coach NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_coachevent ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY quotes_coachevent_of_shop ON quotes_coachevent FOR ALL
    USING (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint))
    WITH CHECK (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint));
REVOKE ALL ON quotes_coachevent FROM roof_app;
GRANT SELECT, INSERT ON quotes_coachevent TO roof_app;
""",
            """
REVOKE ALL ON quotes_coachevent FROM roof_app;
DROP POLICY quotes_coachevent_of_shop ON quotes_coachevent;
ALTER TABLE quotes_coachevent NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_customer ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY quotes_customer_of_shop ON quotes_customer FOR ALL
    USING (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint))
    WITH CHECK (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint));
REVOKE ALL ON quotes_customer FROM roof_app;
GRANT SELECT, INSERT, UPDATE, DELETE ON quotes_customer TO roof_app;
""",
            """
REVOKE ALL ON quotes_customer FROM roof_app;
DROP POLICY quotes_customer_of_shop ON quotes_customer;
ALTER TABLE quotes_customer NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_idempotencykey ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY quotes_idempotencykey_of_shop ON quotes_idempotencykey FOR ALL
    USING (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint))
    WITH CHECK (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint));
REVOKE ALL ON quotes_idempotencykey FROM roof_app;
GRANT SELECT, INSERT, UPDATE, DELETE ON quotes_idempotencykey TO roof_app;
""",
            """
REVOKE ALL ON quotes_idempotencykey FROM roof_app;
DROP POLICY quotes_idempotencykey_of_shop ON quotes_idempotencykey;
ALTER TABLE quotes_idempotencykey NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_survey ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY quotes_survey_of_shop ON quotes_survey FOR ALL
    USING (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint))
    WITH CHECK (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint));
REVOKE ALL ON quotes_survey FROM roof_app;
GRANT SELECT, INSERT, UPDATE, DELETE ON quotes_survey TO roof_app;
""",
            """
REVOKE ALL ON quotes_survey FROM roof_app;
DROP POLICY quotes_survey_of_shop ON quotes_survey;
ALTER TABLE quotes_survey NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_surveyevent ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY quotes_surveyevent_of_shop ON quotes_surveyevent FOR ALL
    USING (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint))
    WITH CHECK (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint));
REVOKE ALL ON quotes_surveyevent FROM roof_app;
GRANT SELECT, INSERT ON quotes_surveyevent TO roof_app;
""",
            """
REVOKE ALL ON quotes_surveyevent FROM roof_app;
DROP POLICY quotes_surveyevent_of_shop ON quotes_surveyevent;
ALTER TABLE quotes_surveyevent NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
    ]
