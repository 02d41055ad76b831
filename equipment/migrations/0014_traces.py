import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("crews", "0004_former_leads"),
        ("equipment", "0013_goods"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name="Case",
            fields=[
                ("number", models.BigAutoField(primary_key=True, serialize=False)),
                ("disease", models.CharField(max_length=40)),
                ("since", models.DateTimeField()),
                ("until", models.DateTimeField()),
                ("strict", models.BooleanField(default=True)),
                ("steps", models.PositiveSmallIntegerField(null=True)),
                ("why", models.CharField(blank=True, max_length=500)),
                ("found", models.JSONField(default=dict)),
                ("at", models.DateTimeField()),
                (
                    "block",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="crews.block"
                    ),
                ),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ("-number",),
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("since__lte", models.F("until"))),
                        name="a_case_begins_before_it_ends",
                    )
                ],
            },
        ),
        migrations.AddIndex(
            model_name="visit",
            index=models.Index(fields=["block", "until"], name="visits_not_over_in_a_block"),
        ),
    ]
