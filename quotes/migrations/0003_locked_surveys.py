"""A survey that an issued quote stands on keeps its contents, whoever writes."""

from django.db import migrations


class Migration(migrations.Migration):
    replaces = [
        ("quotes", "0006_locked_surveys"),
    ]
    dependencies = [("quotes", "0002_policies_and_grants")]

    operations = [
        migrations.RunSQL(
            """
CREATE FUNCTION quotes_survey_stays_locked() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION 'survey % has been locked since %', OLD.id, OLD.locked_on USING ERRCODE = 'check_violation';
END
$$;
CREATE TRIGGER quotes_survey_stays_locked BEFORE UPDATE OR DELETE ON quotes_survey
    FOR EACH ROW WHEN (OLD.locked_on IS NOT NULL) EXECUTE FUNCTION quotes_survey_stays_locked();
""",
            """
DROP TRIGGER quotes_survey_stays_locked ON quotes_survey;
DROP FUNCTION quotes_survey_stays_locked();
""",
        ),
    ]
