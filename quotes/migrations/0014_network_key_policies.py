"""Keys, row policies and grants of quotes_networkidempotencykey."""

from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("quotes", "0013_network_keys")]

    operations = [
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
    ]
