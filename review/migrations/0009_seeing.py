"""What each person has seen of a clip, and what nobody has watched, as rows: filled from the ranges that are there."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from review import frames


def fill(apps, schema_editor):
    Clip, WatchedRange, SeenBy, Unwatched = (
        apps.get_model("review", name) for name in ("Clip", "WatchedRange", "SeenBy", "Unwatched")
    )
    here = schema_editor.connection.alias
    ids = WatchedRange.objects.using(here).order_by("clip").values_list("clip", flat=True).distinct()
    for clip_id, length in Clip.objects.using(here).filter(id__in=ids).values_list("id", "frames").iterator():
        seen = {"watched": {}, "skimmed": {}}
        rows = WatchedRange.objects.using(here).filter(clip=clip_id).order_by()
        for person, manner, start, end in rows.values_list("person", "manner", "in_frame", "out_frame"):
            seen[manner].setdefault(person, []).append((start, min(end, length)))
        sums = []
        for person in sorted({*seen["watched"], *seen["skimmed"]}):
            watched = frames.union(seen["watched"].get(person, ()))
            skimmed = frames.subtract(seen["skimmed"].get(person, ()), watched)
            if watched or skimmed:
                counts = {"watched_frames": frames.count(watched), "skimmed_frames": frames.count(skimmed)}
                sums.append(SeenBy(clip_id=clip_id, person_id=person, **counts))
        SeenBy.objects.using(here).bulk_create(sums)
        watched = frames.union(each for ranges in seen["watched"].values() for each in ranges)
        skimmed = frames.subtract((each for ranges in seen["skimmed"].values() for each in ranges), watched)
        if watched or skimmed:
            left = [(each, True) for each in skimmed]
            left += [(each, False) for each in frames.gaps([*watched, *skimmed], length)]
            rows = [Unwatched(clip_id=clip_id, in_frame=a, out_frame=b, skimmed=kind) for (a, b), kind in left]
            Unwatched.objects.using(here).bulk_create(rows, batch_size=500)


class Migration(migrations.Migration):
    dependencies = [("review", "0011_search")]

    operations = [
        migrations.CreateModel(
            name="SeenBy",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("watched_frames", models.PositiveIntegerField(default=0)),
                ("skimmed_frames", models.PositiveIntegerField(default=0)),
                (
                    "clip",
                    models.ForeignKey(
                        db_index=False,
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="seen_by",
                        to="review.clip",
                    ),
                ),
                (
                    "person",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
            ],
            options={
                "constraints": [models.UniqueConstraint(fields=("clip", "person"), name="one_sum_a_clip_and_person")],
            },
        ),
        migrations.CreateModel(
            name="Unwatched",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("in_frame", models.PositiveIntegerField()),
                ("out_frame", models.PositiveIntegerField()),
                ("skimmed", models.BooleanField()),
                (
                    "clip",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="unwatched", to="review.clip"
                    ),
                ),
            ],
            options={
                "ordering": ["clip", "in_frame"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("in_frame__lt", models.F("out_frame"))), name="unwatched_not_empty"
                    )
                ],
            },
        ),
        migrations.RunPython(fill, migrations.RunPython.noop),
    ]
