import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("equipment", "0005_followed_rules"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name="Reminder",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("what", models.CharField(max_length=10)),
                ("name", models.CharField(max_length=100)),
                ("due_at", models.DateTimeField()),
                ("sent_at", models.DateTimeField()),
                (
                    "item",
                    models.ForeignKey(
                        db_index=False,
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="+",
                        to="equipment.item",
                    ),
                ),
                (
                    "user",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "indexes": [models.Index(fields=["user", "-sent_at"], name="last_reminder_of_a_person")],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("user", "item", "what", "name", "due_at"), name="a_person_is_reminded_once"
                    )
                ],
            },
        ),
    ]
