from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("equipment", "0014_traces")]

    operations = []
