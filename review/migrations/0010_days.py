import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('review', '0008_handing_out'),
    ]

    operations = [
        migrations.AlterField(
            model_name='activity',
            name='card',
            field=models.ForeignKey(null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to='review.card'),
        ),
        migrations.AlterField(
            model_name='activity',
            name='clip',
            field=models.ForeignKey(null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to='review.clip'),
        ),
        migrations.AddIndex(
            model_name='activity',
            index=models.Index(fields=['production', 'about', 'id'], name='review_acti_product_21039f_idx'),
        ),
        migrations.AddIndex(
            model_name='job',
            index=models.Index(fields=['finished_at'], name='review_job_finishe_2bcfbc_idx'),
        ),
    ]
