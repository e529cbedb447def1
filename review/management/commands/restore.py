from contextlib import nullcontext
from pathlib import Path

from django.conf import settings

from review.management import serving
from review.management.plainly import PlainCommand
from review.running import backing_up


class Command(PlainCommand):
    help = (
        "Bring a backup back into the database that the settings name, of the same kind or the other. "
        "Stop Rushlight first. All of it is put back, or nothing."
    )
    tables_first = False  # they are made as the backup had them, filled, and only then brought up to date

    def add_arguments(self, parser):
        parser.add_argument("file", type=Path, help="what manage.py backup wrote")
        parser.add_argument("--replace", action="store_true", help="lose what is in the database now")

    def run(self, *, file, replace, **options):
        settings.HOME.mkdir(parents=True, exist_ok=True)
        with serving.only_one() if settings.EMBEDDED else nullcontext():
            made = backing_up.restore(file.absolute(), replace=replace)
        self.stdout.write(f"{made.rows:,} rows of {len(made.tables)} tables are back, as they were at {made.made_at}.")
        self.stdout.write(
            "Everybody signs in again. Copy media/ from the old home too, or check the cards again: that makes what "
            "is missing."
        )
