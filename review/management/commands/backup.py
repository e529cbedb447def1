from pathlib import Path

from django.template.defaultfilters import filesizeformat
from django.utils import timezone

from review.management.plainly import PlainCommand
from review.running import backing_up


class Command(PlainCommand):
    help = (
        "Write everything that is in the database to one file, as it is at this moment, while people work. Proxies, "
        "the key that signs sessions and card folders are not in it."
    )

    def add_arguments(self, parser):
        parser.add_argument("file", nargs="?", type=Path, help="default: rushlight-DATE-TIME.zip, here")
        parser.add_argument(
            "--check", action="store_true", help="then restore it into a scratch database, and compare every table"
        )

    def run(self, *, file, check, **options):
        file = (file or Path(f"rushlight-{timezone.localtime():%Y%m%d-%H%M%S}.zip")).absolute()
        made = backing_up.back_up(file)
        size = filesizeformat(file.stat().st_size)
        self.stdout.write(f"{file}: {made.rows:,} rows of {len(made.tables)} tables, {size}.")
        if check:
            backing_up.check(file)
            self.stdout.write("Checked: restored into a scratch database, every table came out the same.")
        self.stdout.write(
            "Keep it as safe as the database: it holds everybody's notes. Not in it: media/ and secret-key in the home."
        )
