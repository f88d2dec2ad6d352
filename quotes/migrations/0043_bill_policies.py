"""Keys, row policies and grants of quotes_bill, quotes_billcounter, quotes_billline, quotes_leaktest, quotes_payment, quotes_warranty, quotes_warrantyreturn."""

from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("quotes", "0042_bills")]

    operations = [
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
    ]
