"""The freight of a material is a line of its own, named after its material with a word before it."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("quotes", "0011_alternatives")]

    operations = [
        migrations.AlterField(model_name="quoteline", name="slug", field=models.CharField(max_length=80)),
    ]
