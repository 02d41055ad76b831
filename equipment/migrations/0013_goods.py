import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("crews", "0004_former_leads"),
        ("equipment", "0012_audits"),
    ]

    operations = [
        migrations.CreateModel(
            name="Goods",
            fields=[
                (
                    "code",
                    models.CharField(max_length=40, primary_key=True, serialize=False, verbose_name="code"),
                ),
                ("name", models.CharField(max_length=60, verbose_name="name")),
                (
                    "unit",
                    models.CharField(
                        choices=[
                            ("piece", "pieces"),
                            ("pair", "pairs"),
                            ("roll", "rolls"),
                            ("metre", "metres"),
                            ("litre", "litres"),
                            ("kilogram", "kilograms"),
                        ],
                        max_length=8,
                        verbose_name="counted in",
                    ),
                ),
                (
                    "used_for",
                    models.CharField(
                        choices=[
                            ("first_aid", "first aid"),
                            ("mend", "mending"),
                            ("bath", "dip baths"),
                            ("hands", "hands and hygiene"),
                            ("other", "other"),
                        ],
                        max_length=9,
                        verbose_name="used for",
                    ),
                ),
                ("low", models.FloatField(blank=True, null=True, verbose_name="low below")),
                ("agent", models.CharField(blank=True, max_length=40, verbose_name="disinfectant")),
                ("strength_pct", models.FloatField(blank=True, null=True, verbose_name="strength in %")),
                (
                    "own",
                    models.BooleanField(
                        default=False,
                        help_text="Kept as it is when the catalogue is loaded again.",
                        verbose_name="changed by the farm",
                    ),
                ),
                ("position", models.PositiveSmallIntegerField(default=0)),
            ],
            options={
                "ordering": ("position", "code"),
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("low", None), ("low__gt", 0), _connector="OR"),
                        name="low_is_above_zero",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="LotState",
            fields=[
                ("lot", models.UUIDField(primary_key=True, serialize=False)),
                ("lot_number", models.CharField(blank=True, max_length=200)),
                ("expires_on", models.DateField(null=True)),
                ("received_at", models.DateTimeField(null=True)),
                ("counted_at", models.DateTimeField(null=True)),
                ("left", models.FloatField(db_column="quantity_left", default=0)),
                ("fold", models.JSONField(default=dict)),
                (
                    "goods",
                    models.ForeignKey(
                        db_index=False,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="lots",
                        to="equipment.goods",
                    ),
                ),
                (
                    "store",
                    models.ForeignKey(
                        db_index=False,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="crews.store",
                    ),
                ),
            ],
        ),
        migrations.AddField(
            model_name="discrepancy",
            name="lot",
            field=models.ForeignKey(
                null=True,
                on_delete=django.db.models.deletion.CASCADE,
                related_name="discrepancies",
                to="equipment.lotstate",
            ),
        ),
        migrations.AddIndex(
            model_name="lotstate",
            index=models.Index(fields=["store", "goods", "expires_on"], name="lots_of_a_store"),
        ),
    ]
