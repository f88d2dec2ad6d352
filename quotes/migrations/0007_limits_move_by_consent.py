"""What was agreed for a job stays; what is authorised moves only together with the consent that moves it."""

from django.db import migrations

_JOB = """
CREATE FUNCTION quotes_job_stays_agreed() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    kept quotes_job := NEW;
BEGIN
    -- What may change is put back; whatever differs then was not to change.
    kept.version := OLD.version;
    kept.state := OLD.state;
    kept.resumes := OLD.resumes;
    kept.reason := OLD.reason;
    kept.drawn := OLD.drawn;
    kept.opened_on := OLD.opened_on;
    kept.handed_over_on := OLD.handed_over_on;
    kept.closed_on := OLD.closed_on;
    IF NEW.consent_id <> OLD.consent_id THEN
        kept.consent_id := OLD.consent_id;
        kept.authorised := OLD.authorised;
        kept.authorised_with_tax := OLD.authorised_with_tax;
        kept.promised_on := OLD.promised_on;
    END IF;
    IF kept IS DISTINCT FROM OLD THEN
        RAISE EXCEPTION 'job % stays as it was agreed: its limit and its promised day move by a consent only', OLD.number
            USING ERRCODE = 'check_violation';
    END IF;
    RETURN NEW;
END
$$;
CREATE TRIGGER quotes_job_stays_agreed BEFORE UPDATE ON quotes_job
    FOR EACH ROW EXECUTE FUNCTION quotes_job_stays_agreed();
"""
_BACK = """
DROP TRIGGER quotes_job_stays_agreed ON quotes_job;
DROP FUNCTION quotes_job_stays_agreed();
"""


class Migration(migrations.Migration):
    replaces = [
        ("quotes", "0027_limits_move_by_consent"),
    ]
    dependencies = [("quotes", "0006_issued_fleets_stay")]

    operations = [
        migrations.RunSQL(_JOB, _BACK),
        migrations.RunSQL("REVOKE DELETE ON quotes_job FROM roof_app;", "GRANT DELETE ON quotes_job TO roof_app;"),
    ]
