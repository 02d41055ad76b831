import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("crews", "0002_user_mailed"),
    ]

    operations = [
        migrations.AddField(
            model_name="device",
            name="last_contact",
            field=models.DateTimeField(blank=True, null=True, verbose_name="last contact"),
        ),
        migrations.AddField(
            model_name="device",
            name="unsent",
            field=models.PositiveIntegerField(blank=True, null=True, verbose_name="not sent yet"),
        ),
        migrations.CreateModel(
            name="Enrolment",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("code", models.CharField(max_length=12, unique=True)),
                ("made_at", models.DateTimeField()),
                ("expires_at", models.DateTimeField()),
                ("used_at", models.DateTimeField(null=True)),
                (
                    "device",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="enrolments",
                        to="crews.device",
                    ),
                ),
                (
                    "made_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "store",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="+", to="crews.store"
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("expires_at__gt", models.F("made_at"))),
                        name="an_enrolment_code_lives_for_a_while",
                    )
                ],
            },
        ),
    ]
