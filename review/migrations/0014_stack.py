from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('review', '0007_stack'),
    ]

    operations = [
        migrations.AddField(
            model_name='job',
            name='log',
            field=models.TextField(blank=True, default=''),
            preserve_default=False,
        ),
    ]
