"""What was answered of a change order stays, with its ways and lines; a signed settlement stays as it was signed."""

from django.db import migrations

_ORDER = """
CREATE FUNCTION quotes_answered_order_stays() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF OLD.state IN ('accepted', 'carried', 'declined', 'withdrawn') OR (TG_OP = 'DELETE' AND OLD.state <> 'draft') THEN
        RAISE EXCEPTION 'change order % of job % is %; it stays', OLD.number, OLD.job_id, OLD.state
            USING ERRCODE = 'check_violation';
    END IF;
    IF TG_OP = 'DELETE' THEN
        RETURN OLD;
    END IF;
    RETURN NEW;
END
$$;
CREATE TRIGGER quotes_answered_order_stays BEFORE UPDATE OR DELETE ON quotes_changeorder
    FOR EACH ROW EXECUTE FUNCTION quotes_answered_order_stays();

CREATE FUNCTION quotes_answered_way_stays() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    way quotes_changeorderway;
BEGIN
    IF TG_TABLE_NAME = 'quotes_changeorderway' THEN
        way := CASE WHEN TG_OP = 'INSERT' THEN NEW ELSE OLD END;
    ELSE
        SELECT * INTO way FROM quotes_changeorderway AS known
        WHERE known.shop_id = CASE WHEN TG_OP = 'INSERT' THEN NEW.shop_id ELSE OLD.shop_id END
            AND known.id = CASE WHEN TG_OP = 'INSERT' THEN NEW.way_id ELSE OLD.way_id END;
    END IF;
    IF EXISTS (
        SELECT FROM quotes_changeorder AS o WHERE o.shop_id = way.shop_id AND o.id = way.change_order_id
            AND o.state NOT IN ('draft', 'waiting')
    ) THEN
        RAISE EXCEPTION 'change order % was answered; its ways and lines stay', way.change_order_id
            USING ERRCODE = 'check_violation';
    END IF;
    RETURN CASE WHEN TG_OP = 'DELETE' THEN OLD ELSE NEW END;
END
$$;
CREATE TRIGGER quotes_answered_way_stays BEFORE INSERT OR UPDATE OR DELETE ON quotes_changeorderway
    FOR EACH ROW EXECUTE FUNCTION quotes_answered_way_stays();
CREATE TRIGGER quotes_answered_way_stays BEFORE INSERT OR UPDATE OR DELETE ON quotes_changeorderline
    FOR EACH ROW EXECUTE FUNCTION quotes_answered_way_stays();
"""
_ORDER_BACK = """
DROP TRIGGER quotes_answered_way_stays ON quotes_changeorderline;
DROP TRIGGER quotes_answered_way_stays ON quotes_changeorderway;
DROP FUNCTION quotes_answered_way_stays();
DROP TRIGGER quotes_answered_order_stays ON quotes_changeorder;
DROP FUNCTION quotes_answered_order_stays();
"""
_SETTLEMENT = """
CREATE FUNCTION quotes_signed_settlement_stays() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF OLD.state IN ('signed', 'withdrawn') OR (TG_OP = 'DELETE' AND OLD.state <> 'draft') THEN
        RAISE EXCEPTION 'the settlement of job % is %; it stays', OLD.job_id, OLD.state USING ERRCODE = 'check_violation';
    END IF;
    IF TG_OP = 'DELETE' THEN
        RETURN OLD;
    END IF;
    RETURN NEW;
END
$$;
CREATE TRIGGER quotes_signed_settlement_stays BEFORE UPDATE OR DELETE ON quotes_settlement
    FOR EACH ROW EXECUTE FUNCTION quotes_signed_settlement_stays();
"""
_SETTLEMENT_BACK = """
DROP TRIGGER quotes_signed_settlement_stays ON quotes_settlement;
DROP FUNCTION quotes_signed_settlement_stays();
"""


class Migration(migrations.Migration):
    replaces = [
        ("quotes", "0041_sent_orders_stay"),
    ]
    dependencies = [("quotes", "0008_overruns_move_by_consent")]

    operations = [migrations.RunSQL(_ORDER, _ORDER_BACK), migrations.RunSQL(_SETTLEMENT, _SETTLEMENT_BACK)]
