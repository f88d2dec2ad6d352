"""Keys, row policies and grants of the tables of quotes."""

from django.db import migrations


class Migration(migrations.Migration):
    replaces = [
        ("quotes", "0005_customer_coach_survey_policies"),
        ("quotes", "0008_quote_policies"),
        ("quotes", "0014_network_key_policies"),
        ("quotes", "0016_payer_policies"),
        ("quotes", "0019_second_estimate_policies"),
        ("quotes", "0021_fleet_policies"),
        ("quotes", "0024_tried_quote_policies"),
        ("quotes", "0026_job_policies"),
        ("quotes", "0030_accepted_offer_policies"),
        ("quotes", "0033_closed_job_policies"),
        ("quotes", "0035_sent_entry_policies"),
        ("quotes", "0037_proposed_date_policies"),
        ("quotes", "0040_settlement_policies"),
        ("quotes", "0043_bill_policies"),
        ("quotes", "0046_forecast_policies"),
        ("quotes", "0049_step_policies"),
    ]
    dependencies = [("quotes", "0001_from_customers_to_closed_jobs")]

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
        migrations.RunSQL(
            """
ALTER TABLE quotes_networkidempotencykey ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY quotes_networkidempotencykey_read ON quotes_networkidempotencykey FOR SELECT
    USING (network_id = (SELECT NULLIF(current_setting('app.network_id', true), '')::bigint));
CREATE POLICY quotes_networkidempotencykey_write ON quotes_networkidempotencykey FOR ALL
    USING (network_id = (SELECT NULLIF(current_setting('app.network_id', true), '')::bigint) AND (SELECT current_setting('app.network_write', true)) = 'on')
    WITH CHECK (network_id = (SELECT NULLIF(current_setting('app.network_id', true), '')::bigint) AND (SELECT current_setting('app.network_write', true)) = 'on');
REVOKE ALL ON quotes_networkidempotencykey FROM roof_app;
GRANT SELECT, INSERT, UPDATE, DELETE ON quotes_networkidempotencykey TO roof_app;
""",
            """
REVOKE ALL ON quotes_networkidempotencykey FROM roof_app;
DROP POLICY quotes_networkidempotencykey_write ON quotes_networkidempotencykey;
DROP POLICY quotes_networkidempotencykey_read ON quotes_networkidempotencykey;
ALTER TABLE quotes_networkidempotencykey NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
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
        migrations.RunSQL(
            """
ALTER TABLE quotes_changeorder DROP CONSTRAINT quotes_changeorder_pkey,
    ADD CONSTRAINT quotes_changeorder_pkey PRIMARY KEY (shop_id, id);
""",
            """
ALTER TABLE quotes_changeorder DROP CONSTRAINT quotes_changeorder_pkey,
    ADD CONSTRAINT quotes_changeorder_pkey PRIMARY KEY (id);
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_changeorderevent DROP CONSTRAINT quotes_changeorderevent_pkey,
    ADD CONSTRAINT quotes_changeorderevent_pkey PRIMARY KEY (shop_id, pgh_id);
""",
            """
ALTER TABLE quotes_changeorderevent DROP CONSTRAINT quotes_changeorderevent_pkey,
    ADD CONSTRAINT quotes_changeorderevent_pkey PRIMARY KEY (pgh_id);
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_changeorderline DROP CONSTRAINT quotes_changeorderline_pkey,
    ADD CONSTRAINT quotes_changeorderline_pkey PRIMARY KEY (shop_id, id);
""",
            """
ALTER TABLE quotes_changeorderline DROP CONSTRAINT quotes_changeorderline_pkey,
    ADD CONSTRAINT quotes_changeorderline_pkey PRIMARY KEY (id);
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_changeorderpacks DROP CONSTRAINT quotes_changeorderpacks_pkey,
    ADD CONSTRAINT quotes_changeorderpacks_pkey PRIMARY KEY (shop_id, id);
""",
            """
ALTER TABLE quotes_changeorderpacks DROP CONSTRAINT quotes_changeorderpacks_pkey,
    ADD CONSTRAINT quotes_changeorderpacks_pkey PRIMARY KEY (id);
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_changeorderway DROP CONSTRAINT quotes_changeorderway_pkey,
    ADD CONSTRAINT quotes_changeorderway_pkey PRIMARY KEY (shop_id, id);
""",
            """
ALTER TABLE quotes_changeorderway DROP CONSTRAINT quotes_changeorderway_pkey,
    ADD CONSTRAINT quotes_changeorderway_pkey PRIMARY KEY (id);
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_consent DROP CONSTRAINT quotes_consent_pkey,
    ADD CONSTRAINT quotes_consent_pkey PRIMARY KEY (shop_id, id);
""",
            """
ALTER TABLE quotes_consent DROP CONSTRAINT quotes_consent_pkey,
    ADD CONSTRAINT quotes_consent_pkey PRIMARY KEY (id);
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_consentgiver DROP CONSTRAINT quotes_consentgiver_pkey,
    ADD CONSTRAINT quotes_consentgiver_pkey PRIMARY KEY (shop_id, id);
""",
            """
ALTER TABLE quotes_consentgiver DROP CONSTRAINT quotes_consentgiver_pkey,
    ADD CONSTRAINT quotes_consentgiver_pkey PRIMARY KEY (id);
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_countedsettlement DROP CONSTRAINT quotes_countedsettlement_pkey,
    ADD CONSTRAINT quotes_countedsettlement_pkey PRIMARY KEY (shop_id, id);
""",
            """
ALTER TABLE quotes_countedsettlement DROP CONSTRAINT quotes_countedsettlement_pkey,
    ADD CONSTRAINT quotes_countedsettlement_pkey PRIMARY KEY (id);
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_foundnote DROP CONSTRAINT quotes_foundnote_pkey,
    ADD CONSTRAINT quotes_foundnote_pkey PRIMARY KEY (shop_id, id);
""",
            """
ALTER TABLE quotes_foundnote DROP CONSTRAINT quotes_foundnote_pkey,
    ADD CONSTRAINT quotes_foundnote_pkey PRIMARY KEY (id);
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_job DROP CONSTRAINT quotes_job_pkey,
    ADD CONSTRAINT quotes_job_pkey PRIMARY KEY (shop_id, id);
""",
            """
ALTER TABLE quotes_job DROP CONSTRAINT quotes_job_pkey,
    ADD CONSTRAINT quotes_job_pkey PRIMARY KEY (id);
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_jobcomponent DROP CONSTRAINT quotes_jobcomponent_pkey,
    ADD CONSTRAINT quotes_jobcomponent_pkey PRIMARY KEY (shop_id, id);
""",
            """
ALTER TABLE quotes_jobcomponent DROP CONSTRAINT quotes_jobcomponent_pkey,
    ADD CONSTRAINT quotes_jobcomponent_pkey PRIMARY KEY (id);
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_jobcounter DROP CONSTRAINT quotes_jobcounter_pkey,
    ADD CONSTRAINT quotes_jobcounter_pkey PRIMARY KEY (shop_id, id);
""",
            """
ALTER TABLE quotes_jobcounter DROP CONSTRAINT quotes_jobcounter_pkey,
    ADD CONSTRAINT quotes_jobcounter_pkey PRIMARY KEY (id);
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_jobevent DROP CONSTRAINT quotes_jobevent_pkey,
    ADD CONSTRAINT quotes_jobevent_pkey PRIMARY KEY (shop_id, pgh_id);
""",
            """
ALTER TABLE quotes_jobevent DROP CONSTRAINT quotes_jobevent_pkey,
    ADD CONSTRAINT quotes_jobevent_pkey PRIMARY KEY (pgh_id);
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_jobline DROP CONSTRAINT quotes_jobline_pkey,
    ADD CONSTRAINT quotes_jobline_pkey PRIMARY KEY (shop_id, id);
""",
            """
ALTER TABLE quotes_jobline DROP CONSTRAINT quotes_jobline_pkey,
    ADD CONSTRAINT quotes_jobline_pkey PRIMARY KEY (id);
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_ledgerentry DROP CONSTRAINT quotes_ledgerentry_pkey,
    ADD CONSTRAINT quotes_ledgerentry_pkey PRIMARY KEY (shop_id, id);
""",
            """
ALTER TABLE quotes_ledgerentry DROP CONSTRAINT quotes_ledgerentry_pkey,
    ADD CONSTRAINT quotes_ledgerentry_pkey PRIMARY KEY (id);
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_openingentry DROP CONSTRAINT quotes_openingentry_pkey,
    ADD CONSTRAINT quotes_openingentry_pkey PRIMARY KEY (shop_id, id);
""",
            """
ALTER TABLE quotes_openingentry DROP CONSTRAINT quotes_openingentry_pkey,
    ADD CONSTRAINT quotes_openingentry_pkey PRIMARY KEY (id);
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_overrunpolicy DROP CONSTRAINT quotes_overrunpolicy_pkey,
    ADD CONSTRAINT quotes_overrunpolicy_pkey PRIMARY KEY (shop_id, id);
""",
            """
ALTER TABLE quotes_overrunpolicy DROP CONSTRAINT quotes_overrunpolicy_pkey,
    ADD CONSTRAINT quotes_overrunpolicy_pkey PRIMARY KEY (id);
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_worker DROP CONSTRAINT quotes_worker_pkey,
    ADD CONSTRAINT quotes_worker_pkey PRIMARY KEY (shop_id, id);
""",
            """
ALTER TABLE quotes_worker DROP CONSTRAINT quotes_worker_pkey,
    ADD CONSTRAINT quotes_worker_pkey PRIMARY KEY (id);
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_workerevent DROP CONSTRAINT quotes_workerevent_pkey,
    ADD CONSTRAINT quotes_workerevent_pkey PRIMARY KEY (shop_id, pgh_id);
""",
            """
ALTER TABLE quotes_workerevent DROP CONSTRAINT quotes_workerevent_pkey,
    ADD CONSTRAINT quotes_workerevent_pkey PRIMARY KEY (pgh_id);
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_changeorder ADD CONSTRAINT quotes_changeorder_job_in_shop FOREIGN KEY (shop_id, job_id)
    REFERENCES quotes_job (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
ALTER TABLE quotes_changeorder ADD CONSTRAINT quotes_changeorder_cost_base_in_shop FOREIGN KEY (shop_id, cost_base_id)
    REFERENCES quotes_frozencostbase (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
ALTER TABLE quotes_changeorder ADD CONSTRAINT quotes_changeorder_consent_in_shop FOREIGN KEY (shop_id, consent_id)
    REFERENCES quotes_consent (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
""",
            """
ALTER TABLE quotes_changeorder DROP CONSTRAINT quotes_changeorder_consent_in_shop;
ALTER TABLE quotes_changeorder DROP CONSTRAINT quotes_changeorder_cost_base_in_shop;
ALTER TABLE quotes_changeorder DROP CONSTRAINT quotes_changeorder_job_in_shop;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_changeorderline ADD CONSTRAINT quotes_changeorderline_way_in_shop FOREIGN KEY (shop_id, way_id)
    REFERENCES quotes_changeorderway (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
""",
            """
ALTER TABLE quotes_changeorderline DROP CONSTRAINT quotes_changeorderline_way_in_shop;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_changeorderpacks ADD CONSTRAINT quotes_changeorderpacks_job_in_shop FOREIGN KEY (shop_id, job_id)
    REFERENCES quotes_job (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
ALTER TABLE quotes_changeorderpacks ADD CONSTRAINT quotes_changeorderpacks_change_order_in_shop FOREIGN KEY (shop_id, change_order_id)
    REFERENCES quotes_changeorder (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
""",
            """
ALTER TABLE quotes_changeorderpacks DROP CONSTRAINT quotes_changeorderpacks_change_order_in_shop;
ALTER TABLE quotes_changeorderpacks DROP CONSTRAINT quotes_changeorderpacks_job_in_shop;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_changeorderway ADD CONSTRAINT quotes_changeorderway_change_order_in_shop FOREIGN KEY (shop_id, change_order_id)
    REFERENCES quotes_changeorder (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
""",
            """
ALTER TABLE quotes_changeorderway DROP CONSTRAINT quotes_changeorderway_change_order_in_shop;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_consent ADD CONSTRAINT quotes_consent_quote_in_shop FOREIGN KEY (shop_id, quote_id)
    REFERENCES quotes_quote (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
""",
            """
ALTER TABLE quotes_consent DROP CONSTRAINT quotes_consent_quote_in_shop;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_consentgiver ADD CONSTRAINT quotes_consentgiver_consent_in_shop FOREIGN KEY (shop_id, consent_id)
    REFERENCES quotes_consent (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
""",
            """
ALTER TABLE quotes_consentgiver DROP CONSTRAINT quotes_consentgiver_consent_in_shop;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_countedsettlement ADD CONSTRAINT quotes_countedsettlement_job_in_shop FOREIGN KEY (shop_id, job_id)
    REFERENCES quotes_job (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
""",
            """
ALTER TABLE quotes_countedsettlement DROP CONSTRAINT quotes_countedsettlement_job_in_shop;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_foundnote ADD CONSTRAINT quotes_foundnote_job_in_shop FOREIGN KEY (shop_id, job_id)
    REFERENCES quotes_job (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
ALTER TABLE quotes_foundnote ADD CONSTRAINT quotes_foundnote_corrects_in_shop FOREIGN KEY (shop_id, corrects_id)
    REFERENCES quotes_foundnote (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
""",
            """
ALTER TABLE quotes_foundnote DROP CONSTRAINT quotes_foundnote_corrects_in_shop;
ALTER TABLE quotes_foundnote DROP CONSTRAINT quotes_foundnote_job_in_shop;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_job ADD CONSTRAINT quotes_job_quote_in_shop FOREIGN KEY (shop_id, quote_id)
    REFERENCES quotes_quote (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
ALTER TABLE quotes_job ADD CONSTRAINT quotes_job_coach_in_shop FOREIGN KEY (shop_id, coach_id)
    REFERENCES quotes_coach (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
ALTER TABLE quotes_job ADD CONSTRAINT quotes_job_customer_in_shop FOREIGN KEY (shop_id, customer_id)
    REFERENCES quotes_customer (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
ALTER TABLE quotes_job ADD CONSTRAINT quotes_job_consent_in_shop FOREIGN KEY (shop_id, consent_id)
    REFERENCES quotes_consent (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
ALTER TABLE quotes_job ADD CONSTRAINT quotes_job_cost_base_in_shop FOREIGN KEY (shop_id, cost_base_id)
    REFERENCES quotes_frozencostbase (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
ALTER TABLE quotes_job ADD CONSTRAINT quotes_job_returns_to_in_shop FOREIGN KEY (shop_id, returns_to_id)
    REFERENCES quotes_job (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
""",
            """
ALTER TABLE quotes_job DROP CONSTRAINT quotes_job_returns_to_in_shop;
ALTER TABLE quotes_job DROP CONSTRAINT quotes_job_cost_base_in_shop;
ALTER TABLE quotes_job DROP CONSTRAINT quotes_job_consent_in_shop;
ALTER TABLE quotes_job DROP CONSTRAINT quotes_job_customer_in_shop;
ALTER TABLE quotes_job DROP CONSTRAINT quotes_job_coach_in_shop;
ALTER TABLE quotes_job DROP CONSTRAINT quotes_job_quote_in_shop;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_jobcomponent ADD CONSTRAINT quotes_jobcomponent_job_in_shop FOREIGN KEY (shop_id, job_id)
    REFERENCES quotes_job (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
""",
            """
ALTER TABLE quotes_jobcomponent DROP CONSTRAINT quotes_jobcomponent_job_in_shop;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_jobline ADD CONSTRAINT quotes_jobline_job_in_shop FOREIGN KEY (shop_id, job_id)
    REFERENCES quotes_job (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
""",
            """
ALTER TABLE quotes_jobline DROP CONSTRAINT quotes_jobline_job_in_shop;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_ledgerentry ADD CONSTRAINT quotes_ledgerentry_job_in_shop FOREIGN KEY (shop_id, job_id)
    REFERENCES quotes_job (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
ALTER TABLE quotes_ledgerentry ADD CONSTRAINT quotes_ledgerentry_worker_in_shop FOREIGN KEY (shop_id, worker_id)
    REFERENCES quotes_worker (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
ALTER TABLE quotes_ledgerentry ADD CONSTRAINT quotes_ledgerentry_change_order_in_shop FOREIGN KEY (shop_id, change_order_id)
    REFERENCES quotes_changeorder (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
ALTER TABLE quotes_ledgerentry ADD CONSTRAINT quotes_ledgerentry_corrects_in_shop FOREIGN KEY (shop_id, corrects_id)
    REFERENCES quotes_ledgerentry (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
""",
            """
ALTER TABLE quotes_ledgerentry DROP CONSTRAINT quotes_ledgerentry_corrects_in_shop;
ALTER TABLE quotes_ledgerentry DROP CONSTRAINT quotes_ledgerentry_change_order_in_shop;
ALTER TABLE quotes_ledgerentry DROP CONSTRAINT quotes_ledgerentry_worker_in_shop;
ALTER TABLE quotes_ledgerentry DROP CONSTRAINT quotes_ledgerentry_job_in_shop;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_openingentry ADD CONSTRAINT quotes_openingentry_job_in_shop FOREIGN KEY (shop_id, job_id)
    REFERENCES quotes_job (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
ALTER TABLE quotes_openingentry ADD CONSTRAINT quotes_openingentry_corrects_in_shop FOREIGN KEY (shop_id, corrects_id)
    REFERENCES quotes_openingentry (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
""",
            """
ALTER TABLE quotes_openingentry DROP CONSTRAINT quotes_openingentry_corrects_in_shop;
ALTER TABLE quotes_openingentry DROP CONSTRAINT quotes_openingentry_job_in_shop;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_changeorder ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY quotes_changeorder_of_shop ON quotes_changeorder FOR ALL
    USING (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint))
    WITH CHECK (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint));
REVOKE ALL ON quotes_changeorder FROM roof_app;
GRANT SELECT, INSERT, UPDATE, DELETE ON quotes_changeorder TO roof_app;
""",
            """
REVOKE ALL ON quotes_changeorder FROM roof_app;
DROP POLICY quotes_changeorder_of_shop ON quotes_changeorder;
ALTER TABLE quotes_changeorder NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_changeorderevent ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY quotes_changeorderevent_of_shop ON quotes_changeorderevent FOR ALL
    USING (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint))
    WITH CHECK (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint));
REVOKE ALL ON quotes_changeorderevent FROM roof_app;
GRANT SELECT, INSERT ON quotes_changeorderevent TO roof_app;
""",
            """
REVOKE ALL ON quotes_changeorderevent FROM roof_app;
DROP POLICY quotes_changeorderevent_of_shop ON quotes_changeorderevent;
ALTER TABLE quotes_changeorderevent NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_changeorderline ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY quotes_changeorderline_of_shop ON quotes_changeorderline FOR ALL
    USING (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint))
    WITH CHECK (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint));
REVOKE ALL ON quotes_changeorderline FROM roof_app;
GRANT SELECT, INSERT, UPDATE, DELETE ON quotes_changeorderline TO roof_app;
""",
            """
REVOKE ALL ON quotes_changeorderline FROM roof_app;
DROP POLICY quotes_changeorderline_of_shop ON quotes_changeorderline;
ALTER TABLE quotes_changeorderline NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_changeorderpacks ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY quotes_changeorderpacks_of_shop ON quotes_changeorderpacks FOR ALL
    USING (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint))
    WITH CHECK (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint));
REVOKE ALL ON quotes_changeorderpacks FROM roof_app;
GRANT SELECT, INSERT ON quotes_changeorderpacks TO roof_app;
""",
            """
REVOKE ALL ON quotes_changeorderpacks FROM roof_app;
DROP POLICY quotes_changeorderpacks_of_shop ON quotes_changeorderpacks;
ALTER TABLE quotes_changeorderpacks NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_changeorderway ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY quotes_changeorderway_of_shop ON quotes_changeorderway FOR ALL
    USING (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint))
    WITH CHECK (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint));
REVOKE ALL ON quotes_changeorderway FROM roof_app;
GRANT SELECT, INSERT, UPDATE, DELETE ON quotes_changeorderway TO roof_app;
""",
            """
REVOKE ALL ON quotes_changeorderway FROM roof_app;
DROP POLICY quotes_changeorderway_of_shop ON quotes_changeorderway;
ALTER TABLE quotes_changeorderway NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_consent ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY quotes_consent_of_shop ON quotes_consent FOR ALL
    USING (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint))
    WITH CHECK (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint));
REVOKE ALL ON quotes_consent FROM roof_app;
GRANT SELECT, INSERT ON quotes_consent TO roof_app;
""",
            """
REVOKE ALL ON quotes_consent FROM roof_app;
DROP POLICY quotes_consent_of_shop ON quotes_consent;
ALTER TABLE quotes_consent NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_consentgiver ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY quotes_consentgiver_of_shop ON quotes_consentgiver FOR ALL
    USING (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint))
    WITH CHECK (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint));
REVOKE ALL ON quotes_consentgiver FROM roof_app;
GRANT SELECT, INSERT, UPDATE, DELETE ON quotes_consentgiver TO roof_app;
""",
            """
REVOKE ALL ON quotes_consentgiver FROM roof_app;
DROP POLICY quotes_consentgiver_of_shop ON quotes_consentgiver;
ALTER TABLE quotes_consentgiver NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_countedsettlement ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY quotes_countedsettlement_of_shop ON quotes_countedsettlement FOR ALL
    USING (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint))
    WITH CHECK (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint));
REVOKE ALL ON quotes_countedsettlement FROM roof_app;
GRANT SELECT, INSERT ON quotes_countedsettlement TO roof_app;
""",
            """
REVOKE ALL ON quotes_countedsettlement FROM roof_app;
DROP POLICY quotes_countedsettlement_of_shop ON quotes_countedsettlement;
ALTER TABLE quotes_countedsettlement NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_foundnote ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY quotes_foundnote_of_shop ON quotes_foundnote FOR ALL
    USING (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint))
    WITH CHECK (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint));
REVOKE ALL ON quotes_foundnote FROM roof_app;
GRANT SELECT, INSERT ON quotes_foundnote TO roof_app;
""",
            """
REVOKE ALL ON quotes_foundnote FROM roof_app;
DROP POLICY quotes_foundnote_of_shop ON quotes_foundnote;
ALTER TABLE quotes_foundnote NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_job ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY quotes_job_of_shop ON quotes_job FOR ALL
    USING (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint))
    WITH CHECK (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint));
REVOKE ALL ON quotes_job FROM roof_app;
GRANT SELECT, INSERT, UPDATE, DELETE ON quotes_job TO roof_app;
""",
            """
REVOKE ALL ON quotes_job FROM roof_app;
DROP POLICY quotes_job_of_shop ON quotes_job;
ALTER TABLE quotes_job NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_jobcomponent ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY quotes_jobcomponent_of_shop ON quotes_jobcomponent FOR ALL
    USING (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint))
    WITH CHECK (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint));
REVOKE ALL ON quotes_jobcomponent FROM roof_app;
GRANT SELECT, INSERT ON quotes_jobcomponent TO roof_app;
""",
            """
REVOKE ALL ON quotes_jobcomponent FROM roof_app;
DROP POLICY quotes_jobcomponent_of_shop ON quotes_jobcomponent;
ALTER TABLE quotes_jobcomponent NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_jobcounter ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY quotes_jobcounter_of_shop ON quotes_jobcounter FOR ALL
    USING (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint))
    WITH CHECK (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint));
REVOKE ALL ON quotes_jobcounter FROM roof_app;
GRANT SELECT, INSERT, UPDATE, DELETE ON quotes_jobcounter TO roof_app;
""",
            """
REVOKE ALL ON quotes_jobcounter FROM roof_app;
DROP POLICY quotes_jobcounter_of_shop ON quotes_jobcounter;
ALTER TABLE quotes_jobcounter NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_jobevent ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY quotes_jobevent_of_shop ON quotes_jobevent FOR ALL
    USING (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint))
    WITH CHECK (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint));
REVOKE ALL ON quotes_jobevent FROM roof_app;
GRANT SELECT, INSERT ON quotes_jobevent TO roof_app;
""",
            """
REVOKE ALL ON quotes_jobevent FROM roof_app;
DROP POLICY quotes_jobevent_of_shop ON quotes_jobevent;
ALTER TABLE quotes_jobevent NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_jobline ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY quotes_jobline_of_shop ON quotes_jobline FOR ALL
    USING (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint))
    WITH CHECK (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint));
REVOKE ALL ON quotes_jobline FROM roof_app;
GRANT SELECT, INSERT ON quotes_jobline TO roof_app;
""",
            """
REVOKE ALL ON quotes_jobline FROM roof_app;
DROP POLICY quotes_jobline_of_shop ON quotes_jobline;
ALTER TABLE quotes_jobline NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_ledgerentry ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY quotes_ledgerentry_of_shop ON quotes_ledgerentry FOR ALL
    USING (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint))
    WITH CHECK (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint));
REVOKE ALL ON quotes_ledgerentry FROM roof_app;
GRANT SELECT, INSERT ON quotes_ledgerentry TO roof_app;
""",
            """
REVOKE ALL ON quotes_ledgerentry FROM roof_app;
DROP POLICY quotes_ledgerentry_of_shop ON quotes_ledgerentry;
ALTER TABLE quotes_ledgerentry NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_openingentry ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY quotes_openingentry_of_shop ON quotes_openingentry FOR ALL
    USING (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint))
    WITH CHECK (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint));
REVOKE ALL ON quotes_openingentry FROM roof_app;
GRANT SELECT, INSERT ON quotes_openingentry TO roof_app;
""",
            """
REVOKE ALL ON quotes_openingentry FROM roof_app;
DROP POLICY quotes_openingentry_of_shop ON quotes_openingentry;
ALTER TABLE quotes_openingentry NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_overrunpolicy ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY quotes_overrunpolicy_of_shop ON quotes_overrunpolicy FOR ALL
    USING (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint))
    WITH CHECK (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint));
REVOKE ALL ON quotes_overrunpolicy FROM roof_app;
GRANT SELECT, INSERT ON quotes_overrunpolicy TO roof_app;
""",
            """
REVOKE ALL ON quotes_overrunpolicy FROM roof_app;
DROP POLICY quotes_overrunpolicy_of_shop ON quotes_overrunpolicy;
ALTER TABLE quotes_overrunpolicy NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_worker ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY quotes_worker_of_shop ON quotes_worker FOR ALL
    USING (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint))
    WITH CHECK (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint));
REVOKE ALL ON quotes_worker FROM roof_app;
GRANT SELECT, INSERT, UPDATE, DELETE ON quotes_worker TO roof_app;
""",
            """
REVOKE ALL ON quotes_worker FROM roof_app;
DROP POLICY quotes_worker_of_shop ON quotes_worker;
ALTER TABLE quotes_worker NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_workerevent ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY quotes_workerevent_of_shop ON quotes_workerevent FOR ALL
    USING (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint))
    WITH CHECK (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint));
REVOKE ALL ON quotes_workerevent FROM roof_app;
GRANT SELECT, INSERT ON quotes_workerevent TO roof_app;
""",
            """
REVOKE ALL ON quotes_workerevent FROM roof_app;
DROP POLICY quotes_workerevent_of_shop ON quotes_workerevent;
ALTER TABLE quotes_workerevent NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
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
        migrations.RunSQL(
            """
ALTER TABLE quotes_closedcomponent DROP CONSTRAINT quotes_closedcomponent_pkey,
    ADD CONSTRAINT quotes_closedcomponent_pkey PRIMARY KEY (shop_id, id);
""",
            """
ALTER TABLE quotes_closedcomponent DROP CONSTRAINT quotes_closedcomponent_pkey,
    ADD CONSTRAINT quotes_closedcomponent_pkey PRIMARY KEY (id);
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_closedjob DROP CONSTRAINT quotes_closedjob_pkey,
    ADD CONSTRAINT quotes_closedjob_pkey PRIMARY KEY (shop_id, id);
""",
            """
ALTER TABLE quotes_closedjob DROP CONSTRAINT quotes_closedjob_pkey,
    ADD CONSTRAINT quotes_closedjob_pkey PRIMARY KEY (id);
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_review DROP CONSTRAINT quotes_review_pkey,
    ADD CONSTRAINT quotes_review_pkey PRIMARY KEY (shop_id, id);
""",
            """
ALTER TABLE quotes_review DROP CONSTRAINT quotes_review_pkey,
    ADD CONSTRAINT quotes_review_pkey PRIMARY KEY (id);
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_reviewevent DROP CONSTRAINT quotes_reviewevent_pkey,
    ADD CONSTRAINT quotes_reviewevent_pkey PRIMARY KEY (shop_id, pgh_id);
""",
            """
ALTER TABLE quotes_reviewevent DROP CONSTRAINT quotes_reviewevent_pkey,
    ADD CONSTRAINT quotes_reviewevent_pkey PRIMARY KEY (pgh_id);
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_closedcomponent ADD CONSTRAINT quotes_closedcomponent_closed_in_shop FOREIGN KEY (shop_id, closed_id)
    REFERENCES quotes_closedjob (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
""",
            """
ALTER TABLE quotes_closedcomponent DROP CONSTRAINT quotes_closedcomponent_closed_in_shop;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_closedjob ADD CONSTRAINT quotes_closedjob_job_in_shop FOREIGN KEY (shop_id, job_id)
    REFERENCES quotes_job (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
ALTER TABLE quotes_closedjob ADD CONSTRAINT quotes_closedjob_quote_in_shop FOREIGN KEY (shop_id, quote_id)
    REFERENCES quotes_quote (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
""",
            """
ALTER TABLE quotes_closedjob DROP CONSTRAINT quotes_closedjob_quote_in_shop;
ALTER TABLE quotes_closedjob DROP CONSTRAINT quotes_closedjob_job_in_shop;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_review ADD CONSTRAINT quotes_review_job_in_shop FOREIGN KEY (shop_id, job_id)
    REFERENCES quotes_job (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
""",
            """
ALTER TABLE quotes_review DROP CONSTRAINT quotes_review_job_in_shop;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_closedcomponent ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY quotes_closedcomponent_of_shop ON quotes_closedcomponent FOR ALL
    USING (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint))
    WITH CHECK (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint));
REVOKE ALL ON quotes_closedcomponent FROM roof_app;
GRANT SELECT, INSERT ON quotes_closedcomponent TO roof_app;
""",
            """
REVOKE ALL ON quotes_closedcomponent FROM roof_app;
DROP POLICY quotes_closedcomponent_of_shop ON quotes_closedcomponent;
ALTER TABLE quotes_closedcomponent NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_closedjob ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY quotes_closedjob_of_shop ON quotes_closedjob FOR ALL
    USING (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint))
    WITH CHECK (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint));
REVOKE ALL ON quotes_closedjob FROM roof_app;
GRANT SELECT, INSERT ON quotes_closedjob TO roof_app;
""",
            """
REVOKE ALL ON quotes_closedjob FROM roof_app;
DROP POLICY quotes_closedjob_of_shop ON quotes_closedjob;
ALTER TABLE quotes_closedjob NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_review ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY quotes_review_of_shop ON quotes_review FOR ALL
    USING (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint))
    WITH CHECK (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint));
REVOKE ALL ON quotes_review FROM roof_app;
GRANT SELECT, INSERT, UPDATE, DELETE ON quotes_review TO roof_app;
""",
            """
REVOKE ALL ON quotes_review FROM roof_app;
DROP POLICY quotes_review_of_shop ON quotes_review;
ALTER TABLE quotes_review NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_reviewevent ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY quotes_reviewevent_of_shop ON quotes_reviewevent FOR ALL
    USING (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint))
    WITH CHECK (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint));
REVOKE ALL ON quotes_reviewevent FROM roof_app;
GRANT SELECT, INSERT ON quotes_reviewevent TO roof_app;
""",
            """
REVOKE ALL ON quotes_reviewevent FROM roof_app;
DROP POLICY quotes_reviewevent_of_shop ON quotes_reviewevent;
ALTER TABLE quotes_reviewevent NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
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
        migrations.RunSQL(
            """
ALTER TABLE quotes_dateproposal DROP CONSTRAINT quotes_dateproposal_pkey,
    ADD CONSTRAINT quotes_dateproposal_pkey PRIMARY KEY (shop_id, id);
""",
            """
ALTER TABLE quotes_dateproposal DROP CONSTRAINT quotes_dateproposal_pkey,
    ADD CONSTRAINT quotes_dateproposal_pkey PRIMARY KEY (id);
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_dateproposalevent DROP CONSTRAINT quotes_dateproposalevent_pkey,
    ADD CONSTRAINT quotes_dateproposalevent_pkey PRIMARY KEY (shop_id, pgh_id);
""",
            """
ALTER TABLE quotes_dateproposalevent DROP CONSTRAINT quotes_dateproposalevent_pkey,
    ADD CONSTRAINT quotes_dateproposalevent_pkey PRIMARY KEY (pgh_id);
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_dateproposal ADD CONSTRAINT quotes_dateproposal_job_in_shop FOREIGN KEY (shop_id, job_id)
    REFERENCES quotes_job (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
ALTER TABLE quotes_dateproposal ADD CONSTRAINT quotes_dateproposal_consent_in_shop FOREIGN KEY (shop_id, consent_id)
    REFERENCES quotes_consent (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
""",
            """
ALTER TABLE quotes_dateproposal DROP CONSTRAINT quotes_dateproposal_consent_in_shop;
ALTER TABLE quotes_dateproposal DROP CONSTRAINT quotes_dateproposal_job_in_shop;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_dateproposal ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY quotes_dateproposal_of_shop ON quotes_dateproposal FOR ALL
    USING (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint))
    WITH CHECK (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint));
REVOKE ALL ON quotes_dateproposal FROM roof_app;
GRANT SELECT, INSERT, UPDATE, DELETE ON quotes_dateproposal TO roof_app;
""",
            """
REVOKE ALL ON quotes_dateproposal FROM roof_app;
DROP POLICY quotes_dateproposal_of_shop ON quotes_dateproposal;
ALTER TABLE quotes_dateproposal NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_dateproposalevent ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY quotes_dateproposalevent_of_shop ON quotes_dateproposalevent FOR ALL
    USING (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint))
    WITH CHECK (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint));
REVOKE ALL ON quotes_dateproposalevent FROM roof_app;
GRANT SELECT, INSERT ON quotes_dateproposalevent TO roof_app;
""",
            """
REVOKE ALL ON quotes_dateproposalevent FROM roof_app;
DROP POLICY quotes_dateproposalevent_of_shop ON quotes_dateproposalevent;
ALTER TABLE quotes_dateproposalevent NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
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
        migrations.RunSQL(
            """
ALTER TABLE quotes_bill DROP CONSTRAINT quotes_bill_pkey,
    ADD CONSTRAINT quotes_bill_pkey PRIMARY KEY (shop_id, id);
""",
            """
ALTER TABLE quotes_bill DROP CONSTRAINT quotes_bill_pkey,
    ADD CONSTRAINT quotes_bill_pkey PRIMARY KEY (id);
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_billcounter DROP CONSTRAINT quotes_billcounter_pkey,
    ADD CONSTRAINT quotes_billcounter_pkey PRIMARY KEY (shop_id, id);
""",
            """
ALTER TABLE quotes_billcounter DROP CONSTRAINT quotes_billcounter_pkey,
    ADD CONSTRAINT quotes_billcounter_pkey PRIMARY KEY (id);
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_billline DROP CONSTRAINT quotes_billline_pkey,
    ADD CONSTRAINT quotes_billline_pkey PRIMARY KEY (shop_id, id);
""",
            """
ALTER TABLE quotes_billline DROP CONSTRAINT quotes_billline_pkey,
    ADD CONSTRAINT quotes_billline_pkey PRIMARY KEY (id);
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_leaktest DROP CONSTRAINT quotes_leaktest_pkey,
    ADD CONSTRAINT quotes_leaktest_pkey PRIMARY KEY (shop_id, id);
""",
            """
ALTER TABLE quotes_leaktest DROP CONSTRAINT quotes_leaktest_pkey,
    ADD CONSTRAINT quotes_leaktest_pkey PRIMARY KEY (id);
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_payment DROP CONSTRAINT quotes_payment_pkey,
    ADD CONSTRAINT quotes_payment_pkey PRIMARY KEY (shop_id, id);
""",
            """
ALTER TABLE quotes_payment DROP CONSTRAINT quotes_payment_pkey,
    ADD CONSTRAINT quotes_payment_pkey PRIMARY KEY (id);
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_warranty DROP CONSTRAINT quotes_warranty_pkey,
    ADD CONSTRAINT quotes_warranty_pkey PRIMARY KEY (shop_id, id);
""",
            """
ALTER TABLE quotes_warranty DROP CONSTRAINT quotes_warranty_pkey,
    ADD CONSTRAINT quotes_warranty_pkey PRIMARY KEY (id);
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_warrantyreturn DROP CONSTRAINT quotes_warrantyreturn_pkey,
    ADD CONSTRAINT quotes_warrantyreturn_pkey PRIMARY KEY (shop_id, id);
""",
            """
ALTER TABLE quotes_warrantyreturn DROP CONSTRAINT quotes_warrantyreturn_pkey,
    ADD CONSTRAINT quotes_warrantyreturn_pkey PRIMARY KEY (id);
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_bill ADD CONSTRAINT quotes_bill_job_in_shop FOREIGN KEY (shop_id, job_id)
    REFERENCES quotes_job (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
ALTER TABLE quotes_bill ADD CONSTRAINT quotes_bill_credit_of_in_shop FOREIGN KEY (shop_id, credit_of_id)
    REFERENCES quotes_bill (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
""",
            """
ALTER TABLE quotes_bill DROP CONSTRAINT quotes_bill_credit_of_in_shop;
ALTER TABLE quotes_bill DROP CONSTRAINT quotes_bill_job_in_shop;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_billline ADD CONSTRAINT quotes_billline_bill_in_shop FOREIGN KEY (shop_id, bill_id)
    REFERENCES quotes_bill (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
""",
            """
ALTER TABLE quotes_billline DROP CONSTRAINT quotes_billline_bill_in_shop;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_leaktest ADD CONSTRAINT quotes_leaktest_job_in_shop FOREIGN KEY (shop_id, job_id)
    REFERENCES quotes_job (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
""",
            """
ALTER TABLE quotes_leaktest DROP CONSTRAINT quotes_leaktest_job_in_shop;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_payment ADD CONSTRAINT quotes_payment_job_in_shop FOREIGN KEY (shop_id, job_id)
    REFERENCES quotes_job (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
ALTER TABLE quotes_payment ADD CONSTRAINT quotes_payment_corrects_in_shop FOREIGN KEY (shop_id, corrects_id)
    REFERENCES quotes_payment (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
""",
            """
ALTER TABLE quotes_payment DROP CONSTRAINT quotes_payment_corrects_in_shop;
ALTER TABLE quotes_payment DROP CONSTRAINT quotes_payment_job_in_shop;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_warranty ADD CONSTRAINT quotes_warranty_job_in_shop FOREIGN KEY (shop_id, job_id)
    REFERENCES quotes_job (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
""",
            """
ALTER TABLE quotes_warranty DROP CONSTRAINT quotes_warranty_job_in_shop;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_warrantyreturn ADD CONSTRAINT quotes_warrantyreturn_job_in_shop FOREIGN KEY (shop_id, job_id)
    REFERENCES quotes_job (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
""",
            """
ALTER TABLE quotes_warrantyreturn DROP CONSTRAINT quotes_warrantyreturn_job_in_shop;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_bill ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY quotes_bill_of_shop ON quotes_bill FOR ALL
    USING (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint))
    WITH CHECK (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint));
REVOKE ALL ON quotes_bill FROM roof_app;
GRANT SELECT, INSERT ON quotes_bill TO roof_app;
""",
            """
REVOKE ALL ON quotes_bill FROM roof_app;
DROP POLICY quotes_bill_of_shop ON quotes_bill;
ALTER TABLE quotes_bill NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_billcounter ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY quotes_billcounter_of_shop ON quotes_billcounter FOR ALL
    USING (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint))
    WITH CHECK (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint));
REVOKE ALL ON quotes_billcounter FROM roof_app;
GRANT SELECT, INSERT, UPDATE, DELETE ON quotes_billcounter TO roof_app;
""",
            """
REVOKE ALL ON quotes_billcounter FROM roof_app;
DROP POLICY quotes_billcounter_of_shop ON quotes_billcounter;
ALTER TABLE quotes_billcounter NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_billline ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY quotes_billline_of_shop ON quotes_billline FOR ALL
    USING (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint))
    WITH CHECK (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint));
REVOKE ALL ON quotes_billline FROM roof_app;
GRANT SELECT, INSERT ON quotes_billline TO roof_app;
""",
            """
REVOKE ALL ON quotes_billline FROM roof_app;
DROP POLICY quotes_billline_of_shop ON quotes_billline;
ALTER TABLE quotes_billline NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_leaktest ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY quotes_leaktest_of_shop ON quotes_leaktest FOR ALL
    USING (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint))
    WITH CHECK (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint));
REVOKE ALL ON quotes_leaktest FROM roof_app;
GRANT SELECT, INSERT ON quotes_leaktest TO roof_app;
""",
            """
REVOKE ALL ON quotes_leaktest FROM roof_app;
DROP POLICY quotes_leaktest_of_shop ON quotes_leaktest;
ALTER TABLE quotes_leaktest NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_payment ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY quotes_payment_of_shop ON quotes_payment FOR ALL
    USING (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint))
    WITH CHECK (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint));
REVOKE ALL ON quotes_payment FROM roof_app;
GRANT SELECT, INSERT ON quotes_payment TO roof_app;
""",
            """
REVOKE ALL ON quotes_payment FROM roof_app;
DROP POLICY quotes_payment_of_shop ON quotes_payment;
ALTER TABLE quotes_payment NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_warranty ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY quotes_warranty_of_shop ON quotes_warranty FOR ALL
    USING (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint))
    WITH CHECK (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint));
REVOKE ALL ON quotes_warranty FROM roof_app;
GRANT SELECT, INSERT ON quotes_warranty TO roof_app;
""",
            """
REVOKE ALL ON quotes_warranty FROM roof_app;
DROP POLICY quotes_warranty_of_shop ON quotes_warranty;
ALTER TABLE quotes_warranty NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_warrantyreturn ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY quotes_warrantyreturn_of_shop ON quotes_warrantyreturn FOR ALL
    USING (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint))
    WITH CHECK (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint));
REVOKE ALL ON quotes_warrantyreturn FROM roof_app;
GRANT SELECT, INSERT ON quotes_warrantyreturn TO roof_app;
""",
            """
REVOKE ALL ON quotes_warrantyreturn FROM roof_app;
DROP POLICY quotes_warrantyreturn_of_shop ON quotes_warrantyreturn;
ALTER TABLE quotes_warrantyreturn NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_jobforecast DROP CONSTRAINT quotes_jobforecast_pkey,
    ADD CONSTRAINT quotes_jobforecast_pkey PRIMARY KEY (shop_id, id);
""",
            """
ALTER TABLE quotes_jobforecast DROP CONSTRAINT quotes_jobforecast_pkey,
    ADD CONSTRAINT quotes_jobforecast_pkey PRIMARY KEY (id);
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_jobforecast ADD CONSTRAINT quotes_jobforecast_job_in_shop FOREIGN KEY (shop_id, job_id)
    REFERENCES quotes_job (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
ALTER TABLE quotes_jobforecast ADD CONSTRAINT quotes_jobforecast_opening_in_shop FOREIGN KEY (shop_id, opening_id)
    REFERENCES quotes_openingentry (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
ALTER TABLE quotes_jobforecast ADD CONSTRAINT quotes_jobforecast_change_order_in_shop FOREIGN KEY (shop_id, change_order_id)
    REFERENCES quotes_changeorder (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
""",
            """
ALTER TABLE quotes_jobforecast DROP CONSTRAINT quotes_jobforecast_change_order_in_shop;
ALTER TABLE quotes_jobforecast DROP CONSTRAINT quotes_jobforecast_opening_in_shop;
ALTER TABLE quotes_jobforecast DROP CONSTRAINT quotes_jobforecast_job_in_shop;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_jobforecast ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY quotes_jobforecast_of_shop ON quotes_jobforecast FOR ALL
    USING (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint))
    WITH CHECK (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint));
REVOKE ALL ON quotes_jobforecast FROM roof_app;
GRANT SELECT, INSERT ON quotes_jobforecast TO roof_app;
""",
            """
REVOKE ALL ON quotes_jobforecast FROM roof_app;
DROP POLICY quotes_jobforecast_of_shop ON quotes_jobforecast;
ALTER TABLE quotes_jobforecast NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_stepoffer DROP CONSTRAINT quotes_stepoffer_pkey,
    ADD CONSTRAINT quotes_stepoffer_pkey PRIMARY KEY (shop_id, id);
""",
            """
ALTER TABLE quotes_stepoffer DROP CONSTRAINT quotes_stepoffer_pkey,
    ADD CONSTRAINT quotes_stepoffer_pkey PRIMARY KEY (id);
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_stepofferevent DROP CONSTRAINT quotes_stepofferevent_pkey,
    ADD CONSTRAINT quotes_stepofferevent_pkey PRIMARY KEY (shop_id, pgh_id);
""",
            """
ALTER TABLE quotes_stepofferevent DROP CONSTRAINT quotes_stepofferevent_pkey,
    ADD CONSTRAINT quotes_stepofferevent_pkey PRIMARY KEY (pgh_id);
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_job ADD CONSTRAINT quotes_job_step_in_shop FOREIGN KEY (shop_id, step_id)
    REFERENCES quotes_stepoffer (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
""",
            """
ALTER TABLE quotes_job DROP CONSTRAINT quotes_job_step_in_shop;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_stepoffer ADD CONSTRAINT quotes_stepoffer_quote_in_shop FOREIGN KEY (shop_id, quote_id)
    REFERENCES quotes_quote (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
ALTER TABLE quotes_stepoffer ADD CONSTRAINT quotes_stepoffer_consent_in_shop FOREIGN KEY (shop_id, consent_id)
    REFERENCES quotes_consent (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
""",
            """
ALTER TABLE quotes_stepoffer DROP CONSTRAINT quotes_stepoffer_consent_in_shop;
ALTER TABLE quotes_stepoffer DROP CONSTRAINT quotes_stepoffer_quote_in_shop;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_stepoffer ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY quotes_stepoffer_of_shop ON quotes_stepoffer FOR ALL
    USING (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint))
    WITH CHECK (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint));
REVOKE ALL ON quotes_stepoffer FROM roof_app;
GRANT SELECT, INSERT, UPDATE, DELETE ON quotes_stepoffer TO roof_app;
""",
            """
REVOKE ALL ON quotes_stepoffer FROM roof_app;
DROP POLICY quotes_stepoffer_of_shop ON quotes_stepoffer;
ALTER TABLE quotes_stepoffer NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_stepofferevent ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY quotes_stepofferevent_of_shop ON quotes_stepofferevent FOR ALL
    USING (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint))
    WITH CHECK (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint));
REVOKE ALL ON quotes_stepofferevent FROM roof_app;
GRANT SELECT, INSERT ON quotes_stepofferevent TO roof_app;
""",
            """
REVOKE ALL ON quotes_stepofferevent FROM roof_app;
DROP POLICY quotes_stepofferevent_of_shop ON quotes_stepofferevent;
ALTER TABLE quotes_stepofferevent NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
    ]
