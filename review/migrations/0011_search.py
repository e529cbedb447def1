"""The rows of findable selects with what is asked of them most, and the full-text index over their words. Nothing is
filled in here: the next sweep finds every card unknown, and makes its selects findable."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from review.searching import words_index


class Migration(migrations.Migration):

    dependencies = [
        ("review", "0010_days"),
    ]

    operations = [
        migrations.DeleteModel("Findable"),
        migrations.CreateModel(
            name="Findable",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("rating", models.PositiveSmallIntegerField()),
                ("shot_at", models.BigIntegerField()),
                ("milliseconds", models.PositiveBigIntegerField()),
                ("angled", models.BooleanField()),
                ("words", models.TextField()),
                ("card", models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.CASCADE, related_name="+", to="review.card")),
                ("logger", models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name="+", to=settings.AUTH_USER_MODEL)),
                ("production", models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name="+", to="review.production")),
                ("select", models.OneToOneField(on_delete=django.db.models.deletion.CASCADE, related_name="findable", to="review.select")),
            ],
            options={
                "indexes": [
                    models.Index(fields=["production", "shot_at", "id", "card", "rating", "logger", "milliseconds", "angled"], name="review_find_shot"),
                    models.Index(fields=["production", "-rating", "shot_at", "id"], name="review_find_rating"),
                    models.Index(fields=["card", "shot_at", "id"], name="review_find_card"),
                ],
            },
        ),
        migrations.CreateModel(
            name="FindableWord",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("word", models.CharField(max_length=60)),
                ("production", models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.CASCADE, related_name="+", to="review.production")),
            ],
            options={
                "constraints": [models.UniqueConstraint(fields=("production", "word"), name="one_word_a_production")],
            },
        ),
        migrations.CreateModel(
            name="FindableCard",
            fields=[
                ("card", models.OneToOneField(on_delete=django.db.models.deletion.CASCADE, primary_key=True, related_name="+", serialize=False, to="review.card")),
                ("seen", models.CharField(max_length=200)),
            ],
        ),
        migrations.RunPython(
            lambda apps, schema_editor: words_index.create(schema_editor),
            lambda apps, schema_editor: words_index.remove(schema_editor),
        ),
    ]
