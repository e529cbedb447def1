"""Tokens that were kept as they are sent are kept as digests from now on; they go on working for a year."""

import hashlib
from datetime import timedelta

from django.db import migrations
from django.utils import timezone

OLD = "authtoken_token"


def move(apps, schema_editor):
    connection = schema_editor.connection
    if OLD not in connection.introspection.table_names():
        return
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT key, user_id FROM {OLD}")
        rows = cursor.fetchall()
    AccessToken = apps.get_model("review", "AccessToken")
    for key, person_id in rows:
        AccessToken.objects.using(connection.alias).create(
            person_id=person_id,
            name="made before tokens had names",
            start=key[:6],
            digest=hashlib.sha256(key.encode()).hexdigest(),
            scope="write",
            expires=timezone.now() + timedelta(days=366),
        )
    schema_editor.execute(f"DROP TABLE {OLD}")


class Migration(migrations.Migration):
    dependencies = [("review", "0014_stack")]
    operations = [migrations.RunPython(move, migrations.RunPython.noop)]
