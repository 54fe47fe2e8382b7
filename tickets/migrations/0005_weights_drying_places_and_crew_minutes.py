import django.core.validators
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("tickets", "0004_came_before"),
    ]

    operations = [
        migrations.CreateModel(
            name="KindWeight",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("kind", models.CharField(max_length=40, unique=True, verbose_name="kind")),
                (
                    "grams",
                    models.PositiveIntegerField(
                        validators=[
                            django.core.validators.MinValueValidator(1),
                            django.core.validators.MaxValueValidator(60000),
                        ],
                        verbose_name="grams",
                    ),
                ),
            ],
            options={
                "verbose_name": "weight of a kind",
                "verbose_name_plural": "weights of kinds",
                "ordering": ["kind"],
            },
        ),
        migrations.RemoveConstraint(
            model_name="machine",
            name="machine_litres_above_zero",
        ),
        migrations.RemoveConstraint(
            model_name="machine",
            name="machine_kind_known",
        ),
        migrations.AddField(
            model_name="customer",
            name="fragrance_free",
            field=models.BooleanField(default=False, verbose_name="no fragrance"),
        ),
        migrations.AddField(
            model_name="customer",
            name="no_softener",
            field=models.BooleanField(default=False, verbose_name="no softener"),
        ),
        migrations.AddField(
            model_name="machine",
            name="programmes",
            field=models.ManyToManyField(
                blank=True, related_name="+", to="tickets.programme", verbose_name="runs only"
            ),
        ),
        migrations.AddField(
            model_name="stationcrew",
            name="minutes_a_day",
            field=models.PositiveSmallIntegerField(
                blank=True,
                null=True,
                validators=[
                    django.core.validators.MinValueValidator(1),
                    django.core.validators.MaxValueValidator(1440),
                ],
                verbose_name="minutes a day",
            ),
        ),
        migrations.AlterField(
            model_name="machine",
            name="kind",
            field=models.CharField(
                choices=[
                    ("washer", "Washer"),
                    ("hand_sink", "Hand sink"),
                    ("wet_cleaner", "Wet-cleaning machine"),
                    ("solvent_p", "Solvent machine, P"),
                    ("solvent_f", "Solvent machine, F"),
                    ("dryer", "Dryer"),
                    ("ironer", "Ironer"),
                    ("press", "Press"),
                    ("rail", "Drying rail"),
                    ("flat", "Flat drying place"),
                ],
                max_length=12,
                verbose_name="kind",
            ),
        ),
        migrations.AlterField(
            model_name="programme",
            name="kind",
            field=models.CharField(
                choices=[
                    ("washer", "Washer"),
                    ("hand_sink", "Hand sink"),
                    ("wet_cleaner", "Wet-cleaning machine"),
                    ("solvent_p", "Solvent machine, P"),
                    ("solvent_f", "Solvent machine, F"),
                    ("dryer", "Dryer"),
                    ("ironer", "Ironer"),
                    ("press", "Press"),
                    ("rail", "Drying rail"),
                    ("flat", "Flat drying place"),
                ],
                max_length=12,
                verbose_name="kind of machine",
            ),
        ),
        migrations.AddConstraint(
            model_name="machine",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("litres__gt", 0),
                    ("kind__in", ("ironer", "press", "rail", "flat")),
                    _connector="OR",
                ),
                name="machine_litres_above_zero",
            ),
        ),
        migrations.AddConstraint(
            model_name="machine",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("most_pieces__gt", 0),
                    models.Q(("kind__in", ("rail", "flat")), _negated=True),
                    _connector="OR",
                ),
                name="drying_place_holds_a_piece",
            ),
        ),
        migrations.AddConstraint(
            model_name="machine",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    (
                        "kind__in",
                        [
                            "washer",
                            "hand_sink",
                            "wet_cleaner",
                            "solvent_p",
                            "solvent_f",
                            "dryer",
                            "ironer",
                            "press",
                            "rail",
                            "flat",
                        ],
                    )
                ),
                name="machine_kind_known",
            ),
        ),
        migrations.AddConstraint(
            model_name="stationcrew",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("minutes_a_day__isnull", True), ("minutes_a_day__gt", 0), _connector="OR"
                ),
                name="crew_minutes_above_zero",
            ),
        ),
        migrations.AddConstraint(
            model_name="kindweight",
            constraint=models.CheckConstraint(
                condition=models.Q(("grams__gt", 0)), name="kind_weight_above_zero"
            ),
        ),
    ]
