"""Keys, row policies and grants of costbase_shopimport, costbase_shopimportrow, costbase_networkimport, costbase_networkimportrow."""

from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("costbase", "0010_imports")]

    operations = [
        migrations.RunSQL(
            """
ALTER TABLE costbase_shopimport DROP CONSTRAINT costbase_shopimport_pkey,
    ADD CONSTRAINT costbase_shopimport_pkey PRIMARY KEY (shop_id, id);
""",
            """
ALTER TABLE costbase_shopimport DROP CONSTRAINT costbase_shopimport_pkey,
    ADD CONSTRAINT costbase_shopimport_pkey PRIMARY KEY (id);
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE costbase_shopimportrow DROP CONSTRAINT costbase_shopimportrow_pkey,
    ADD CONSTRAINT costbase_shopimportrow_pkey PRIMARY KEY (shop_id, id);
""",
            """
ALTER TABLE costbase_shopimportrow DROP CONSTRAINT costbase_shopimportrow_pkey,
    ADD CONSTRAINT costbase_shopimportrow_pkey PRIMARY KEY (id);
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE costbase_shopimportrow ADD CONSTRAINT costbase_shopimportrow_of_in_shop FOREIGN KEY (shop_id, of_id)
    REFERENCES costbase_shopimport (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
""",
            """
ALTER TABLE costbase_shopimportrow DROP CONSTRAINT costbase_shopimportrow_of_in_shop;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE costbase_networkimport ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY costbase_networkimport_read ON costbase_networkimport FOR SELECT
    USING (network_id = (SELECT NULLIF(current_setting('app.network_id', true), '')::bigint));
CREATE POLICY costbase_networkimport_write ON costbase_networkimport FOR ALL
    USING (network_id = (SELECT NULLIF(current_setting('app.network_id', true), '')::bigint) AND (SELECT current_setting('app.network_write', true)) = 'on')
    WITH CHECK (network_id = (SELECT NULLIF(current_setting('app.network_id', true), '')::bigint) AND (SELECT current_setting('app.network_write', true)) = 'on');
REVOKE ALL ON costbase_networkimport FROM roof_app;
GRANT SELECT, INSERT, UPDATE, DELETE ON costbase_networkimport TO roof_app;
""",
            """
REVOKE ALL ON costbase_networkimport FROM roof_app;
DROP POLICY costbase_networkimport_write ON costbase_networkimport;
DROP POLICY costbase_networkimport_read ON costbase_networkimport;
ALTER TABLE costbase_networkimport NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE costbase_networkimportrow ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY costbase_networkimportrow_read ON costbase_networkimportrow FOR SELECT
    USING (network_id = (SELECT NULLIF(current_setting('app.network_id', true), '')::bigint));
CREATE POLICY costbase_networkimportrow_write ON costbase_networkimportrow FOR ALL
    USING (network_id = (SELECT NULLIF(current_setting('app.network_id', true), '')::bigint) AND (SELECT current_setting('app.network_write', true)) = 'on')
    WITH CHECK (network_id = (SELECT NULLIF(current_setting('app.network_id', true), '')::bigint) AND (SELECT current_setting('app.network_write', true)) = 'on');
REVOKE ALL ON costbase_networkimportrow FROM roof_app;
GRANT SELECT, INSERT, UPDATE, DELETE ON costbase_networkimportrow TO roof_app;
""",
            """
REVOKE ALL ON costbase_networkimportrow FROM roof_app;
DROP POLICY costbase_networkimportrow_write ON costbase_networkimportrow;
DROP POLICY costbase_networkimportrow_read ON costbase_networkimportrow;
ALTER TABLE costbase_networkimportrow NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE costbase_shopimport ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY costbase_shopimport_of_shop ON costbase_shopimport FOR ALL
    USING (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint))
    WITH CHECK (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint));
REVOKE ALL ON costbase_shopimport FROM roof_app;
GRANT SELECT, INSERT, UPDATE, DELETE ON costbase_shopimport TO roof_app;
""",
            """
REVOKE ALL ON costbase_shopimport FROM roof_app;
DROP POLICY costbase_shopimport_of_shop ON costbase_shopimport;
ALTER TABLE costbase_shopimport NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE costbase_shopimportrow ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY costbase_shopimportrow_of_shop ON costbase_shopimportrow FOR ALL
    USING (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint))
    WITH CHECK (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint));
REVOKE ALL ON costbase_shopimportrow FROM roof_app;
GRANT SELECT, INSERT, UPDATE, DELETE ON costbase_shopimportrow TO roof_app;
""",
            """
REVOKE ALL ON costbase_shopimportrow FROM roof_app;
DROP POLICY costbase_shopimportrow_of_shop ON costbase_shopimportrow;
ALTER TABLE costbase_shopimportrow NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
    ]
