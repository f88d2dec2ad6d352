"""Keys, row policies and grants of quotes_dateproposal, quotes_dateproposalevent."""

from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("quotes", "0036_proposed_dates")]

    operations = [
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
    ]
