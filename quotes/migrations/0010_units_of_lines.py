"""A line is counted in a unit or in packs, and a pack has a name of up to 40 characters."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("quotes", "0009_issued_quotes_stay")]

    operations = [
        migrations.AlterField(model_name="quoteline", name="unit", field=models.CharField(max_length=40)),
    ]
