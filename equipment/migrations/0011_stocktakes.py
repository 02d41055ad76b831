import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("crews", "0004_former_leads"),
        ("equipment", "0010_printings"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name="Stocktake",
            fields=[
                ("id", models.UUIDField(primary_key=True, serialize=False)),
                ("kinds", models.JSONField(default=list)),
                ("begun_at", models.DateTimeField()),
                ("begun_heads", models.JSONField(default=dict)),
                ("ended_at", models.DateTimeField(null=True)),
                ("ended_heads", models.JSONField(default=dict)),
                ("why_open", models.TextField(blank=True)),
                ("result", models.JSONField(default=dict)),
                (
                    "begun_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "ended_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "store",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="crews.store"
                    ),
                ),
            ],
            options={
                "ordering": ("-begun_at", "-id"),
            },
        ),
        migrations.CreateModel(
            name="ExpectedPiece",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("place", models.CharField(max_length=8)),
                (
                    "item",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="equipment.item"
                    ),
                ),
                (
                    "stocktake",
                    models.ForeignKey(
                        db_index=False,
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="expected",
                        to="equipment.stocktake",
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="UnknownTag",
            fields=[
                ("id", models.UUIDField(primary_key=True, serialize=False)),
                ("text", models.CharField(max_length=40)),
                ("at", models.DateTimeField()),
                ("choice", models.CharField(blank=True, max_length=12)),
                ("entry", models.UUIDField(null=True)),
                ("settled_at", models.DateTimeField(null=True)),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "item",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="equipment.item",
                    ),
                ),
                (
                    "settled_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "stocktake",
                    models.ForeignKey(
                        db_index=False,
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="unknown",
                        to="equipment.stocktake",
                    ),
                ),
            ],
            options={
                "ordering": ("at", "id"),
            },
        ),
        migrations.AddIndex(
            model_name="stocktake",
            index=models.Index(fields=["-begun_at", "-id"], name="stocktakes_newest_first"),
        ),
        migrations.AddConstraint(
            model_name="stocktake",
            constraint=models.UniqueConstraint(
                condition=models.Q(("ended_at", None)),
                fields=("store",),
                name="one_open_stocktake_in_a_store",
            ),
        ),
        migrations.AddConstraint(
            model_name="expectedpiece",
            constraint=models.UniqueConstraint(
                fields=("stocktake", "item"), name="a_piece_is_expected_once_at_a_stocktake"
            ),
        ),
        migrations.AddConstraint(
            model_name="unknowntag",
            constraint=models.UniqueConstraint(
                fields=("stocktake", "text"), name="an_unknown_tag_is_kept_once_at_a_stocktake"
            ),
        ),
    ]
