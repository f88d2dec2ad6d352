"""A fleet that has left draft never changes but for its state, whoever writes; its quotes have a rule of their own."""

from django.db import migrations

_FLEET = """
CREATE FUNCTION quotes_fleet_stays_issued() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    kept quotes_fleet := NEW;
BEGIN
    IF TG_OP = 'DELETE' THEN
        RAISE EXCEPTION 'fleet % is %: only a draft is deleted', OLD.id, OLD.state USING ERRCODE = 'check_violation';
    END IF;
    -- What may change is put back; whatever differs then was not to change.
    kept.version := OLD.version;
    IF OLD.state = 'draft' THEN
        kept.issued_at := OLD.issued_at;
        kept.issued_by := OLD.issued_by;
    END IF;
    IF NEW.state <> 'draft' THEN
        kept.state := OLD.state;
    END IF;
    IF kept IS DISTINCT FROM OLD THEN
        RAISE EXCEPTION 'fleet % was issued and stays as it is', OLD.id USING ERRCODE = 'check_violation';
    END IF;
    RETURN NEW;
END
$$;
CREATE TRIGGER quotes_fleet_stays_issued BEFORE UPDATE ON quotes_fleet
    FOR EACH ROW WHEN (OLD.state <> 'draft' OR NEW.state <> 'draft') EXECUTE FUNCTION quotes_fleet_stays_issued();
CREATE TRIGGER quotes_fleet_is_not_deleted BEFORE DELETE ON quotes_fleet
    FOR EACH ROW WHEN (OLD.state <> 'draft') EXECUTE FUNCTION quotes_fleet_stays_issued();
"""
_FLEET_BACK = """
DROP TRIGGER quotes_fleet_is_not_deleted ON quotes_fleet;
DROP TRIGGER quotes_fleet_stays_issued ON quotes_fleet;
DROP FUNCTION quotes_fleet_stays_issued();
"""


class Migration(migrations.Migration):
    replaces = [
        ("quotes", "0022_issued_fleets_stay"),
    ]
    dependencies = [("quotes", "0005_payers_stay_issued")]

    operations = [migrations.RunSQL(_FLEET, _FLEET_BACK)]
