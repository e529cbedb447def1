"""Which tags each clip's selects have, and how many of them, is kept; and whose selects are is read from an index."""

import django.db.models.deletion
from django.db import migrations, models
from django.db.models import Count


def fill(apps, schema_editor):
    here = schema_editor.connection.alias
    ClipTag, Select = (apps.get_model('review', name) for name in ('ClipTag', 'Select'))
    tagged = Select.tags.through.objects.using(here).filter(select__deleted=None).order_by()
    counted = tagged.values_list('select__clip', 'tag').annotate(Count('id')).iterator()
    rows = (ClipTag(clip_id=clip, tag_id=tag, selects=many) for clip, tag, many in counted)
    ClipTag.objects.using(here).bulk_create(rows, batch_size=5000)


class Migration(migrations.Migration):

    dependencies = [
        ('review', '0017_longest'),
    ]

    operations = [
        migrations.AddIndex('select', models.Index(fields=['clip', 'deleted', 'logger'], name='selects_by_logger')),
        migrations.CreateModel(
            name='ClipTag',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('selects', models.PositiveIntegerField()),
                ('clip', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.CASCADE,
                                           related_name='+', to='review.clip')),
                ('tag', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.CASCADE,
                                          related_name='on_clips', to='review.tag')),
            ],
        ),
        migrations.RunPython(fill, migrations.RunPython.noop),
        migrations.AddIndex('cliptag', models.Index(fields=['tag', 'clip', 'selects'], name='clips_by_tag')),
        migrations.AddConstraint(
            'cliptag', models.UniqueConstraint(fields=('clip', 'tag'), name='one_count_a_clip_and_tag'),
        ),
    ]
