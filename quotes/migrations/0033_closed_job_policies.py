"""Keys, row policies and grants of quotes_closedcomponent, quotes_closedjob, quotes_review, quotes_reviewevent."""

from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("quotes", "0032_closed_jobs")]

    operations = [
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
    ]
