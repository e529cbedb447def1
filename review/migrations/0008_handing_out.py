import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('review', '0015_tokens_hashed'),
    ]

    operations = [
        migrations.AddField(
            model_name='split',
            name='seen_by',
            field=models.ManyToManyField(related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='stint',
            name='moved_in',
            field=models.ForeignKey(null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='moved', to='review.split'),
        ),
    ]
