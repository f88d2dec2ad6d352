"""How far jobs went over budget, as PostgreSQL keeps it for choosing its way; ANALYZE fills it."""

from django.db import migrations

# Of a comparison of two columns it knows nothing and takes it to hold for a third of all rows; three such filters then seem to
# leave so few that it reads and sorts all of a shop's instead of walking the index until a page is full.
_SPREAD = "CREATE STATISTICS quotes_closedjob_over ON (actual_cost - planned_cost) FROM quotes_closedjob;"
_SPREAD_BACK = "DROP STATISTICS quotes_closedjob_over;"


class Migration(migrations.Migration):
    dependencies = [("quotes", "0014_how_far_over_budget")]

    operations = [migrations.RunSQL(_SPREAD, _SPREAD_BACK)]
