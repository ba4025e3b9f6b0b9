import django.db.models.deletion
import django.utils.timezone
from django.db import migrations, models
from django.db.models import Q


class Migration(migrations.Migration):
    dependencies = [
        ("firings", "0005_moulds_and_other_glasses"),
        ("schedules", "0003_silenced_remark"),
        ("studio", "0005_what_a_glass_carries"),
    ]

    operations = [
        migrations.CreateModel(
            name="Forecast",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "action",
                    models.CharField(
                        choices=[
                            ("change", "change"),
                            ("unchanged", "fire it again unchanged"),
                            ("look_elsewhere", "look elsewhere first"),
                        ],
                        max_length=14,
                    ),
                ),
                ("peak_delta_c", models.FloatField(default=0.0)),
                ("hold_delta_s", models.FloatField(default=0.0)),
                ("chance_now", models.FloatField(blank=True, null=True)),
                ("chance_then", models.FloatField(blank=True, null=True)),
                ("chances_now", models.JSONField(blank=True, default=list)),
                ("chances_then", models.JSONField(blank=True, default=list)),
                (
                    "given_at",
                    models.DateTimeField(default=django.utils.timezone.now, editable=False),
                ),
                ("inputs", models.CharField(blank=True, editable=False, max_length=64)),
                (
                    "firing",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="forecasts",
                        to="firings.firing",
                    ),
                ),
                (
                    "kiln",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="forecasts",
                        to="studio.kiln",
                    ),
                ),
                ("rests_on", models.ManyToManyField(related_name="+", to="firings.firing")),
                (
                    "revision",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="forecasts",
                        to="schedules.revision",
                    ),
                ),
            ],
            options={
                "ordering": ["-given_at", "-pk"],
                "indexes": [
                    models.Index(fields=["kiln", "given_at"], name="forecasts_of_a_kiln"),
                ],
                "constraints": [
                    models.CheckConstraint(
                        condition=Q(action__in=["change", "unchanged", "look_elsewhere"]),
                        name="known_advice_action",
                    ),
                    models.CheckConstraint(
                        condition=Q(chance_now__isnull=True, chance_then__isnull=True)
                        | Q(chance_now__range=(0, 1), chance_then__range=(0, 1)),
                        name="both_chances_or_none",
                    ),
                    models.CheckConstraint(
                        condition=Q(peak_delta_c=0) | Q(hold_delta_s=0),
                        name="peak_or_hold_never_both",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="ForecastScore",
            fields=[
                (
                    "firing",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.CASCADE,
                        primary_key=True,
                        related_name="forecast_score",
                        serialize=False,
                        to="firings.firing",
                    ),
                ),
                (
                    "fired",
                    models.CharField(
                        choices=[
                            ("as_advised", "the change that it advised"),
                            ("as_it_stood", "unchanged"),
                            ("otherwise", "something else"),
                            ("missed", "the kiln missed its plan"),
                            ("broken_off", "it was broken off"),
                        ],
                        max_length=12,
                    ),
                ),
                (
                    "verdict",
                    models.SmallIntegerField(
                        choices=[
                            (-2, "well short"),
                            (-1, "a touch short"),
                            (0, "as wanted"),
                            (1, "a touch far"),
                            (2, "well past"),
                        ]
                    ),
                ),
                (
                    "forecast",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="scores",
                        to="firings.forecast",
                    ),
                ),
            ],
            options={
                "ordering": ["firing"],
                "constraints": [
                    models.CheckConstraint(
                        condition=Q(
                            fired__in=[
                                "as_advised",
                                "as_it_stood",
                                "otherwise",
                                "missed",
                                "broken_off",
                            ]
                        ),
                        name="known_fired_as",
                    ),
                    models.CheckConstraint(
                        condition=Q(verdict__range=(-2, 2)), name="known_scored_verdict"
                    ),
                ],
            },
        ),
        migrations.AddField(
            model_name="notetaken",
            name="forecast",
            field=models.OneToOneField(
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="note_taken",
                to="firings.forecast",
            ),
        ),
    ]
