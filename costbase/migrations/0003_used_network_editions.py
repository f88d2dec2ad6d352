"""An issued quote marks the editions of its network that it has read.

A shop's scope may not write its network's rows, and the network does not see the shop's quotes. So one function runs with the
rights of the tables' owner and does this one thing: it says of editions of the network of the open shop that they were used.
History then tells that the service did it, and neither which shop nor who in it.
"""

from django.db import migrations

_FUNCTION = """
CREATE FUNCTION costbase_use_network_editions(read jsonb) RETURNS void LANGUAGE plpgsql SECURITY DEFINER
    SET search_path = pg_catalog, public, pg_temp
AS $$
DECLARE
    author text := coalesce(current_setting('pghistory.context_metadata', true), '');
BEGIN
    PERFORM set_config(
        'pghistory.context_metadata', '{"person": null, "token": null, "role": "system", "request": ""}', true
    );
    -- Held in the order of their numbers, so that two shops that issue at once wait for each other and never in a circle.
    WITH held AS (
        SELECT edition.id FROM public.costbase_networkedition AS edition
        JOIN jsonb_to_recordset(read) AS asked (kind text, slug text, valid_from date)
            ON (edition.kind, edition.slug, edition.valid_from) = (asked.kind, asked.slug, asked.valid_from)
        WHERE edition.network_id = NULLIF(current_setting('app.network_id', true), '')::bigint
            AND NULLIF(current_setting('app.shop_id', true), '') IS NOT NULL
            AND NOT edition.used AND edition.withdrawn_on IS NULL
        ORDER BY edition.id FOR UPDATE OF edition
    )
    UPDATE public.costbase_networkedition AS edition SET used = true FROM held WHERE edition.id = held.id;
    PERFORM set_config('pghistory.context_metadata', author, true);
END
$$;
REVOKE ALL ON FUNCTION costbase_use_network_editions(jsonb) FROM PUBLIC;
GRANT EXECUTE ON FUNCTION costbase_use_network_editions(jsonb) TO roof_app;
"""


class Migration(migrations.Migration):
    replaces = [
        ("costbase", "0009_used_network_editions"),
    ]
    dependencies = [("costbase", "0002_policies_and_grants")]

    operations = [migrations.RunSQL(_FUNCTION, "DROP FUNCTION costbase_use_network_editions(jsonb);")]
