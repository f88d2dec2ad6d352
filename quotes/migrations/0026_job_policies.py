"""Keys, row policies and grants of quotes_changeorder, quotes_changeorderevent, quotes_changeorderline, quotes_changeorderpacks, quotes_changeorderway, quotes_consent, quotes_consentgiver, quotes_countedsettlement, quotes_foundnote, quotes_job, quotes_jobcomponent, quotes_jobcounter, quotes_jobevent, quotes_jobline, quotes_ledgerentry, quotes_openingentry, quotes_overrunpolicy, quotes_worker, quotes_workerevent."""

from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("quotes", "0025_jobs")]

    operations = [
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
    ]
