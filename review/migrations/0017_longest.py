"""How long each stretch that nobody watched lasts, and how many of them a clip has: counted and sorted at once by now."""

from django.db import migrations, models
from django.db.models import Count, F, FloatField, OuterRef, Subquery
from django.db.models.functions import Cast, Coalesce


def fill(apps, schema_editor):
    here = schema_editor.connection.alias
    Clip, Unwatched = (apps.get_model('review', name) for name in ('Clip', 'Unwatched'))
    clip = Clip.objects.filter(id=OuterRef('clip'))
    frames = Cast(F('out_frame') - F('in_frame'), FloatField())
    over, under = (Subquery(clip.values(f'rate_{part}')) for part in ('denominator', 'numerator'))
    Unwatched.objects.using(here).update(seconds=frames * over / under)
    there = Unwatched.objects.filter(clip=OuterRef('id'), skimmed=False).order_by().values('clip')
    Clip.objects.using(here).update(unseen_count=Coalesce(Subquery(there.annotate(many=Count('id')).values('many')), 0))


class Migration(migrations.Migration):

    dependencies = [
        ('review', '0016_select_count'),
    ]

    operations = [
        migrations.AddField('clip', 'unseen_count', models.PositiveIntegerField(default=0)),
        migrations.AddField('unwatched', 'seconds', models.FloatField(default=0), preserve_default=False),
        migrations.RunPython(fill, migrations.RunPython.noop),
        migrations.AddIndex(
            'unwatched',
            models.Index('skimmed', F('seconds').desc(), 'clip', 'in_frame', name='longest_unwatched'),
        ),
    ]
