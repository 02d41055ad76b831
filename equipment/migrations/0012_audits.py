import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("crews", "0004_former_leads"),
        ("equipment", "0011_stocktakes"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name="Audit",
            fields=[
                ("number", models.BigAutoField(primary_key=True, serialize=False)),
                ("act", models.UUIDField(unique=True)),
                (
                    "where",
                    models.CharField(
                        choices=[
                            ("store", "in the store or on the bench now"),
                            ("farm", "all that are not gone or missing, wherever they are"),
                        ],
                        max_length=5,
                    ),
                ),
                ("make", models.CharField(blank=True, max_length=60)),
                ("size", models.CharField(blank=True, max_length=20)),
                ("delivery", models.CharField(blank=True, max_length=60)),
                ("share", models.DecimalField(decimal_places=2, max_digits=5, null=True)),
                ("faulty", models.PositiveIntegerField()),
                ("sure", models.DecimalField(decimal_places=2, max_digits=4)),
                ("every", models.BooleanField(default=False)),
                ("lot", models.JSONField()),
                ("count", models.PositiveIntegerField()),
                ("left_out", models.PositiveIntegerField(default=0)),
                ("sample", models.PositiveIntegerField()),
                ("seed", models.PositiveBigIntegerField()),
                ("drawn_at", models.DateTimeField()),
                ("closed_at", models.DateTimeField(null=True)),
                ("why", models.CharField(blank=True, max_length=500)),
                (
                    "closed_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "drawn_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "kind",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="equipment.kind"
                    ),
                ),
                (
                    "store",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="crews.store",
                    ),
                ),
            ],
            options={
                "ordering": ("-number",),
            },
        ),
        migrations.CreateModel(
            name="AuditPiece",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("tag", models.CharField(max_length=20)),
                ("turn", models.PositiveIntegerField()),
                (
                    "audit",
                    models.ForeignKey(
                        db_index=False,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="pieces",
                        to="equipment.audit",
                    ),
                ),
                (
                    "item",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="equipment.item"
                    ),
                ),
            ],
            options={
                "ordering": ("turn",),
            },
        ),
        migrations.CreateModel(
            name="AuditAnswer",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "said",
                    models.CharField(
                        choices=[("good", "good"), ("faulty", "faulty"), ("absent", "not there")],
                        max_length=6,
                    ),
                ),
                ("faults", models.JSONField(default=list)),
                ("entries", models.JSONField(default=list)),
                ("at", models.DateTimeField()),
                ("undone_at", models.DateTimeField(null=True)),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "undone_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "piece",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="answers",
                        to="equipment.auditpiece",
                    ),
                ),
            ],
            options={
                "ordering": ("at", "pk"),
            },
        ),
        migrations.AddConstraint(
            model_name="audit",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("faulty__gte", 1),
                    ("faulty__lte", models.F("count")),
                    ("sample__gte", 1),
                    ("sample__lte", models.F("count")),
                ),
                name="an_audit_looks_at_some_of_its_lot",
            ),
        ),
        migrations.AddConstraint(
            model_name="audit",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("closed_at", None), ("closed_by", None)),
                    models.Q(("closed_at__isnull", False), ("closed_by__isnull", False)),
                    _connector="OR",
                ),
                name="an_audit_is_closed_by_somebody",
            ),
        ),
        migrations.AddConstraint(
            model_name="auditpiece",
            constraint=models.UniqueConstraint(fields=("audit", "item"), name="a_piece_is_drawn_once"),
        ),
        migrations.AddConstraint(
            model_name="auditpiece",
            constraint=models.UniqueConstraint(fields=("audit", "turn"), name="one_piece_a_turn"),
        ),
        migrations.AddConstraint(
            model_name="auditanswer",
            constraint=models.UniqueConstraint(
                condition=models.Q(("undone_at", None)), fields=("piece",), name="one_standing_answer_a_piece"
            ),
        ),
    ]
