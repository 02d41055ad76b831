import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("equipment", "0003_condition"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name="Rule",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("subject", models.CharField(max_length=100)),
                ("values", models.JSONField(default=dict)),
                ("from_at", models.DateTimeField()),
                ("why", models.CharField(blank=True, max_length=500)),
                ("recorded_at", models.DateTimeField()),
                (
                    "by",
                    models.ForeignKey(
                        db_index=False,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "indexes": [models.Index(fields=["subject", "from_at"], name="versions_of_a_rule")],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            ("by", None), models.Q(("why", ""), _negated=True), _connector="OR"
                        ),
                        name="a_rule_of_the_farm_says_why",
                    )
                ],
            },
        ),
    ]
