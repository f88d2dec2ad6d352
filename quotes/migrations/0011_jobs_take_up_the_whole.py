"""A job that began with a step takes up what is agreed as the whole, once and with its consent; an issued step stays."""

from django.db import migrations

_JOB = """
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
        kept.authorised_with_tax := OLD.authorised_with_tax;
        kept.overrun_with_tax := OLD.overrun_with_tax;
        kept.promised_on := OLD.promised_on;{more}
    END IF;
    IF kept IS DISTINCT FROM OLD THEN
        RAISE EXCEPTION 'job % stays as it was agreed: its limit and its promised day move by a consent only', OLD.number
            USING ERRCODE = 'check_violation';
    END IF;
    RETURN NEW;
END
$$;
"""
_WHOLE = """
        IF NOT OLD.whole AND NEW.whole THEN
            kept.whole := OLD.whole;
            kept.quote_id := OLD.quote_id;
            kept.customer_id := OLD.customer_id;
            kept.cost_base_id := OLD.cost_base_id;
            kept.price_basis := OLD.price_basis;
            kept.options := OLD.options;
            kept.hours := OLD.hours;
            kept.cost := OLD.cost;
            kept.base := OLD.base;
            kept.record := OLD.record;
            kept.allowance := OLD.allowance;
            kept.contingency := OLD.contingency;
            kept."limit" := OLD."limit";
            kept.base_with_tax := OLD.base_with_tax;
            kept.limit_with_tax := OLD.limit_with_tax;
            kept.deposit := OLD.deposit;
            kept.totals := OLD.totals;
        END IF;"""
_STEP = """
CREATE FUNCTION quotes_issued_step_stays() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    kept quotes_stepoffer := NEW;
BEGIN
    IF OLD.state = 'draft' THEN
        RETURN NEW;
    END IF;
    kept.state := OLD.state;
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
CREATE TRIGGER quotes_issued_step_stays BEFORE UPDATE ON quotes_stepoffer
    FOR EACH ROW EXECUTE FUNCTION quotes_issued_step_stays();
"""
_STEP_BACK = """
DROP TRIGGER quotes_issued_step_stays ON quotes_stepoffer;
DROP FUNCTION quotes_issued_step_stays();
"""


class Migration(migrations.Migration):
    replaces = [
        ("quotes", "0050_jobs_take_up_the_whole"),
    ]
    dependencies = [("quotes", "0010_answers_stay")]

    operations = [
        migrations.RunSQL(_JOB.replace("{more}", _WHOLE), _JOB.replace("{more}", "")),
        migrations.RunSQL(_STEP, _STEP_BACK),
        migrations.RunSQL("REVOKE DELETE ON quotes_stepoffer FROM roof_app;", "GRANT DELETE ON quotes_stepoffer TO roof_app;"),
    ]
