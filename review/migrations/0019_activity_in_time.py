"""What happened is read in order of time, which is that of the numbers only where no clock was set back."""

from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('review', '0018_clip_tags'),
    ]

    operations = [
        migrations.RemoveIndex(
            model_name='activity',
            name='review_acti_product_8f8259_idx',
        ),
        migrations.AddIndex(
            model_name='activity',
            index=models.Index(fields=['production', 'at', 'id'], name='review_acti_product_5f0658_idx'),
        ),
        migrations.AddIndex(
            model_name='activity',
            index=models.Index(fields=['production', 'person', 'at', 'id'], name='review_acti_product_e8dcb0_idx'),
        ),
    ]
