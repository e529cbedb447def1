import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('review', '0009_seeing'),
    ]

    operations = [
        migrations.CreateModel(
            name='FormerWord',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('folded', models.CharField(max_length=180)),
                ('name', models.CharField(max_length=60)),
                ('production', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='former_words', to='review.production')),
                ('tag', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='former_words', to='review.tag')),
            ],
            options={
                'ordering': ['name'],
                'constraints': [models.UniqueConstraint(fields=('production', 'folded'), name='a_former_word_once')],
            },
        ),
    ]
