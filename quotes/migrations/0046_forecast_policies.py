"""Keys, row policies and grants of quotes_jobforecast."""

from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("quotes", "0045_forecasts")]

    operations = [
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
    ]
