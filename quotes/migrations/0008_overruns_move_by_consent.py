"""What may be billed beyond an authorised total moves with the consent that moves the total, and not otherwise."""

from django.db import migrations

_WITH = """
CREATE OR REPLACE FUNCTION quotes_job_stays_agreed() RETURNS trigger LANGUAGE plpgsql AS $$
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
        kept.authorised_with_tax := OLD.authorised_with_tax;{more}
        kept.promised_on := OLD.promised_on;
    END IF;
    IF kept IS DISTINCT FROM OLD THEN
        RAISE EXCEPTION 'job % stays as it was agreed: its limit and its promised day move by a consent only', OLD.number
            USING ERRCODE = 'check_violation';
    END IF;
    RETURN NEW;
END
$$;
"""
_FORWARD = _WITH.replace("{more}", "\n        kept.overrun_with_tax := OLD.overrun_with_tax;")


class Migration(migrations.Migration):
    replaces = [
        ("quotes", "0038_overruns_move_by_consent"),
    ]
    dependencies = [("quotes", "0007_limits_move_by_consent")]

    operations = [migrations.RunSQL(_FORWARD, _WITH.replace("{more}", ""))]
