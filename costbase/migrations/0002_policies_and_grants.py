"""Keys, row policies and grants of the tables of costbase."""

from django.db import migrations


class Migration(migrations.Migration):
    replaces = [
        ("costbase", "0002_shop_grants"),
        ("costbase", "0004_edition_policies"),
        ("costbase", "0005_library_grants"),
        ("costbase", "0007_run_grants"),
        ("costbase", "0011_import_policies"),
    ]
    dependencies = [("costbase", "0001_shops_networks_and_editions")]

    operations = [
        migrations.RunSQL(
            """
REVOKE ALL ON costbase_network FROM roof_app;
GRANT SELECT, INSERT, UPDATE ON costbase_network TO roof_app;
""",
            """
REVOKE ALL ON costbase_network FROM roof_app;
""",
        ),
        migrations.RunSQL(
            """
REVOKE ALL ON costbase_shop FROM roof_app;
GRANT SELECT, INSERT, UPDATE ON costbase_shop TO roof_app;
""",
            """
REVOKE ALL ON costbase_shop FROM roof_app;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE costbase_shopedition DROP CONSTRAINT costbase_shopedition_pkey, ADD CONSTRAINT costbase_shopedition_pkey PRIMARY KEY (shop_id, id);
""",
            """
ALTER TABLE costbase_shopedition DROP CONSTRAINT costbase_shopedition_pkey, ADD CONSTRAINT costbase_shopedition_pkey PRIMARY KEY (id);
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE costbase_shopeditionevent DROP CONSTRAINT costbase_shopeditionevent_pkey, ADD CONSTRAINT costbase_shopeditionevent_pkey PRIMARY KEY (shop_id, pgh_id);
""",
            """
ALTER TABLE costbase_shopeditionevent DROP CONSTRAINT costbase_shopeditionevent_pkey, ADD CONSTRAINT costbase_shopeditionevent_pkey PRIMARY KEY (pgh_id);
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE costbase_networkedition ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY costbase_networkedition_read ON costbase_networkedition FOR SELECT
    USING (network_id = (SELECT NULLIF(current_setting('app.network_id', true), '')::bigint));
CREATE POLICY costbase_networkedition_write ON costbase_networkedition FOR ALL
    USING (network_id = (SELECT NULLIF(current_setting('app.network_id', true), '')::bigint) AND (SELECT current_setting('app.network_write', true)) = 'on')
    WITH CHECK (network_id = (SELECT NULLIF(current_setting('app.network_id', true), '')::bigint) AND (SELECT current_setting('app.network_write', true)) = 'on');
REVOKE ALL ON costbase_networkedition FROM roof_app;
GRANT SELECT, INSERT, UPDATE, DELETE ON costbase_networkedition TO roof_app;
""",
            """
REVOKE ALL ON costbase_networkedition FROM roof_app;
DROP POLICY costbase_networkedition_write ON costbase_networkedition;
DROP POLICY costbase_networkedition_read ON costbase_networkedition;
ALTER TABLE costbase_networkedition NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE costbase_networkeditionevent ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY costbase_networkeditionevent_read ON costbase_networkeditionevent FOR SELECT
    USING (network_id = (SELECT NULLIF(current_setting('app.network_id', true), '')::bigint));
CREATE POLICY costbase_networkeditionevent_write ON costbase_networkeditionevent FOR ALL
    USING (network_id = (SELECT NULLIF(current_setting('app.network_id', true), '')::bigint) AND (SELECT current_setting('app.network_write', true)) = 'on')
    WITH CHECK (network_id = (SELECT NULLIF(current_setting('app.network_id', true), '')::bigint) AND (SELECT current_setting('app.network_write', true)) = 'on');
REVOKE ALL ON costbase_networkeditionevent FROM roof_app;
GRANT SELECT, INSERT ON costbase_networkeditionevent TO roof_app;
""",
            """
REVOKE ALL ON costbase_networkeditionevent FROM roof_app;
DROP POLICY costbase_networkeditionevent_write ON costbase_networkeditionevent;
DROP POLICY costbase_networkeditionevent_read ON costbase_networkeditionevent;
ALTER TABLE costbase_networkeditionevent NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE costbase_shopedition ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY costbase_shopedition_of_shop ON costbase_shopedition FOR ALL
    USING (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint))
    WITH CHECK (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint));
REVOKE ALL ON costbase_shopedition FROM roof_app;
GRANT SELECT, INSERT, UPDATE, DELETE ON costbase_shopedition TO roof_app;
""",
            """
REVOKE ALL ON costbase_shopedition FROM roof_app;
DROP POLICY costbase_shopedition_of_shop ON costbase_shopedition;
ALTER TABLE costbase_shopedition NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE costbase_shopeditionevent ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY costbase_shopeditionevent_of_shop ON costbase_shopeditionevent FOR ALL
    USING (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint))
    WITH CHECK (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint));
REVOKE ALL ON costbase_shopeditionevent FROM roof_app;
GRANT SELECT, INSERT ON costbase_shopeditionevent TO roof_app;
""",
            """
REVOKE ALL ON costbase_shopeditionevent FROM roof_app;
DROP POLICY costbase_shopeditionevent_of_shop ON costbase_shopeditionevent;
ALTER TABLE costbase_shopeditionevent NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
        migrations.RunSQL(
            """
REVOKE ALL ON django_migrations FROM roof_app;
GRANT SELECT ON django_migrations TO roof_app;
REVOKE ALL ON pghistory_context FROM roof_app;
""",
            """
REVOKE ALL ON django_migrations FROM roof_app;
""",
        ),
        migrations.RunSQL(
            """
REVOKE ALL ON costbase_run FROM roof_app;
GRANT SELECT, INSERT, UPDATE, DELETE ON costbase_run TO roof_app;
""",
            """
REVOKE ALL ON costbase_run FROM roof_app;
""",
        ),
        migrations.RunSQL(
            """
REVOKE ALL ON costbase_runchunk FROM roof_app;
GRANT SELECT, INSERT, UPDATE, DELETE ON costbase_runchunk TO roof_app;
""",
            """
REVOKE ALL ON costbase_runchunk FROM roof_app;
""",
        ),
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
