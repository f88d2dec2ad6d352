"""Keys, row policies and grants of quotes_linkanswer."""

from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [('quotes', '0016_link_answers')]

    operations = [
        migrations.RunSQL(
            """
ALTER TABLE quotes_linkanswer DROP CONSTRAINT quotes_linkanswer_pkey,
    ADD CONSTRAINT quotes_linkanswer_pkey PRIMARY KEY (shop_id, id);
""",
            """
ALTER TABLE quotes_linkanswer DROP CONSTRAINT quotes_linkanswer_pkey,
    ADD CONSTRAINT quotes_linkanswer_pkey PRIMARY KEY (id);
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_linkanswer ADD CONSTRAINT quotes_linkanswer_consent_in_shop FOREIGN KEY (shop_id, consent_id)
    REFERENCES quotes_consent (shop_id, id)
    DEFERRABLE INITIALLY IMMEDIATE;
""",
            """
ALTER TABLE quotes_linkanswer DROP CONSTRAINT quotes_linkanswer_consent_in_shop;
""",
        ),
        migrations.RunSQL(
            """
ALTER TABLE quotes_linkanswer ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY quotes_linkanswer_of_shop ON quotes_linkanswer FOR ALL
    USING (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint))
    WITH CHECK (shop_id = (SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint));
REVOKE ALL ON quotes_linkanswer FROM roof_app;
GRANT SELECT, INSERT ON quotes_linkanswer TO roof_app;
""",
            """
REVOKE ALL ON quotes_linkanswer FROM roof_app;
DROP POLICY quotes_linkanswer_of_shop ON quotes_linkanswer;
ALTER TABLE quotes_linkanswer NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;
""",
        ),
    ]
