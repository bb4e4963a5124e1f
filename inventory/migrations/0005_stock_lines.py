"""A line of the stock page is kept, so that the database orders and cuts the page."""

import datetime

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("inventory", "0004_cylinders_by_a_stated_rule"),
        ("kernel", "0001_initial"),
    ]

    operations = [
        migrations.CreateModel(
            name="StockLine",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("name", models.CharField(max_length=200)),
                (
                    "harm_class",
                    models.CharField(
                        choices=[
                            ("A", "same day"),
                            ("B", "2-3 days"),
                            ("C", "a week"),
                            ("D", "cosmetic"),
                        ],
                        max_length=1,
                    ),
                ),
                (
                    "to_do",
                    models.CharField(
                        choices=[
                            ("leak", "look for a leak"),
                            ("count", "it is below nothing: count it"),
                            ("plan", "nothing is planned with it"),
                            ("order", "order it"),
                            ("exchange", "exchange the cylinder"),
                            ("too_old", "open the next"),
                            ("press", "change the instruction"),
                            ("ask", "no delivery is known"),
                            ("weigh", "it was never measured"),
                            ("nothing", "nothing"),
                            ("wait", "not counted yet"),
                        ],
                        default="wait",
                        max_length=8,
                    ),
                ),
                ("act_by_on", models.DateField(default=datetime.date(9999, 12, 31))),
                ("too_old_on", models.DateField(blank=True, null=True)),
                (
                    "opened_on",
                    models.DateField(
                        blank=True,
                        help_text="Of the only container, if there is one only",
                        null=True,
                    ),
                ),
                ("level_base", models.BigIntegerField(default=0)),
                ("full_base", models.PositiveBigIntegerField(default=0)),
                ("containers", models.PositiveIntegerField(default=0)),
                ("tanks", models.PositiveIntegerField(default=0)),
                ("is_below_nothing", models.BooleanField(default=False)),
                ("measured_at", models.DateTimeField(blank=True, null=True)),
                ("measured_by", models.CharField(blank=True, max_length=120)),
                ("out_before_next", models.FloatField(blank=True, null=True)),
                ("projected_at", models.DateTimeField(blank=True, null=True)),
                ("made_at", models.DateTimeField()),
                (
                    "alert",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to="kernel.alert",
                    ),
                ),
                (
                    "container",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="stock_lines",
                        to="inventory.container",
                    ),
                ),
                (
                    "forecast",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to="inventory.forecast",
                    ),
                ),
                (
                    "item",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="stock_lines",
                        to="inventory.item",
                    ),
                ),
                (
                    "showroom",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="kernel.showroom",
                    ),
                ),
            ],
            options={
                "indexes": [
                    models.Index(
                        fields=["showroom", "act_by_on", "harm_class", "name", "id"],
                        name="stock_lines_in_order",
                    ),
                    models.Index(fields=["showroom", "projected_at"], name="stock_lines_oldest"),
                    models.Index(
                        fields=["showroom", "harm_class", "out_before_next"],
                        name="stock_lines_at_risk",
                    ),
                ],
                "constraints": [
                    models.UniqueConstraint(
                        condition=models.Q(("container__isnull", True)),
                        fields=("item",),
                        name="one_stock_line_per_item",
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(("container__isnull", False)),
                        fields=("container",),
                        name="one_stock_line_per_container",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            (
                                "to_do__in",
                                [
                                    "leak",
                                    "count",
                                    "plan",
                                    "order",
                                    "exchange",
                                    "too_old",
                                    "press",
                                    "ask",
                                    "weigh",
                                    "nothing",
                                    "wait",
                                ],
                            )
                        ),
                        name="stock_line_to_do_is_known",
                    ),
                ],
            },
        ),
    ]
