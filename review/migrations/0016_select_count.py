from django.db import migrations, models
from django.db.models import Count, OuterRef, Subquery
from django.db.models.functions import Coalesce


def count(apps, schema_editor):
    Clip, Select = apps.get_model('review', 'Clip'), apps.get_model('review', 'Select')
    there = Select.objects.filter(clip=OuterRef('id'), deleted=None).order_by().values('clip')
    Clip.objects.using(schema_editor.connection.alias).update(select_count=Coalesce(Subquery(there.annotate(many=Count('id')).values('many')), 0))


class Migration(migrations.Migration):

    dependencies = [
        ('review', '0013_back'),
    ]

    operations = [
        migrations.AddField(
            model_name='clip',
            name='select_count',
            field=models.PositiveIntegerField(default=0),
        ),
        migrations.RunPython(count, migrations.RunPython.noop),
    ]
