"""Keys, row policies and grants of quotes_stepoffer, quotes_stepofferevent, quotes_job."""

from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("quotes", "0048_steps")]

    operations = [
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
