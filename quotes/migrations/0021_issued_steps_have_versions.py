"""The version of an issued step goes on with its state; whatever its owner saw stays as before."""

from django.db import migrations

_STEP = """
CREATE OR REPLACE FUNCTION quotes_issued_step_stays() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    kept quotes_stepoffer := NEW;
BEGIN
    IF OLD.state = 'draft' THEN
        RETURN NEW;
    END IF;
    kept.state := OLD.state;{more}
    kept.consent_id := OLD.consent_id;
    kept.job_id := OLD.job_id;
    kept.decided_at := OLD.decided_at;
    kept.closed_up_at := OLD.closed_up_at;
    IF kept IS DISTINCT FROM OLD OR (NEW.state <> OLD.state AND OLD.state <> 'issued') THEN
        RAISE EXCEPTION 'step % of quote % was issued; it stays as it was shown', OLD.number, OLD.quote_id
            USING ERRCODE = 'check_violation';
    END IF;
    RETURN NEW;
END
$$;
"""
_VERSION = """
    kept.version := OLD.version;"""


class Migration(migrations.Migration):
    dependencies = [("quotes", "0020_step_versions")]

    operations = [
        migrations.RunSQL(_STEP.replace("{more}", _VERSION), _STEP.replace("{more}", "")),
    ]
