"""Who gave a consent stays as it was written, until it is emptied; that an offer was accepted stays for good, whoever writes."""

from django.db import migrations

_GIVER = """
CREATE FUNCTION quotes_consent_giver_stays() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    emptied quotes_consentgiver := OLD;
BEGIN
    emptied.name := '';
    emptied.contact := '';
    emptied.address := '';
    emptied.agent := '';
    emptied.erased_at := NEW.erased_at;
    IF NEW IS DISTINCT FROM emptied OR NEW.erased_at IS NULL OR OLD.erased_at IS NOT NULL THEN
        RAISE EXCEPTION 'who gave consent % stays as it was written, or is emptied once', OLD.consent_id
            USING ERRCODE = 'check_violation';
    END IF;
    RETURN NEW;
END
$$;
CREATE TRIGGER quotes_consent_giver_stays BEFORE UPDATE ON quotes_consentgiver
    FOR EACH ROW EXECUTE FUNCTION quotes_consent_giver_stays();
REVOKE DELETE ON quotes_consentgiver FROM roof_app;
"""
_GIVER_BACK = """
GRANT DELETE ON quotes_consentgiver TO roof_app;
DROP TRIGGER quotes_consent_giver_stays ON quotes_consentgiver;
DROP FUNCTION quotes_consent_giver_stays();
"""
_QUOTE = """
CREATE FUNCTION quotes_quote_stays_answered() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION 'quote % is %, which it stays', OLD.number, OLD.state USING ERRCODE = 'check_violation';
END
$$;
CREATE TRIGGER quotes_quote_stays_answered BEFORE UPDATE ON quotes_quote
    FOR EACH ROW WHEN ((OLD.state = 'accepted' OR OLD.state = 'superseded') AND NEW.state <> OLD.state)
    EXECUTE FUNCTION quotes_quote_stays_answered();
"""
_QUOTE_BACK = """
DROP TRIGGER quotes_quote_stays_answered ON quotes_quote;
DROP FUNCTION quotes_quote_stays_answered();
"""


class Migration(migrations.Migration):
    replaces = [
        ("quotes", "0044_answers_stay"),
    ]
    dependencies = [("quotes", "0009_sent_orders_stay")]

    operations = [
        migrations.RunSQL(_GIVER, _GIVER_BACK),
        migrations.RunSQL(_QUOTE, _QUOTE_BACK),
    ]
