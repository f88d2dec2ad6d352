"""Keys, row policies and grants of costbase_shopedition, costbase_shopeditionevent, costbase_networkedition, costbase_networkeditionevent."""

from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("costbase", "0003_editions")]

    operations = [
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
    ]
