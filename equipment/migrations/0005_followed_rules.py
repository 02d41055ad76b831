from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("equipment", "0004_rules")]

    operations = [
        migrations.CreateModel(
            name="FollowedRules",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("at", models.DateTimeField()),
            ],
        ),
    ]
