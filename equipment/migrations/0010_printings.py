from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("equipment", "0009_lots_and_registers")]

    operations = [
        migrations.AddField(
            model_name="printing",
            name="version",
            field=models.PositiveSmallIntegerField(default=1),
        ),
    ]
