from review.crew import people
from review.management.plainly import PlainCommand


class Command(PlainCommand):
    help = "Make a production, or change the title and rate of one."

    def add_arguments(self, parser):
        parser.add_argument("code", help="two letters and two digits, such as KB04")
        parser.add_argument("title")
        parser.add_argument(
            "--rate", help="frames a second, with DF for drop-frame: 25 (a new one's default), 23.976, 29.97DF …"
        )

    def run(self, *, code, title, rate, **options):
        production, new = people.make_production(code, title, people.read_timebase(rate) if rate else None)
        drop = " drop-frame" if production.drop else ""
        self.stdout.write(
            f"{'Made' if new else 'Changed'} {production} at {production.timebase.rate} frames a second{drop}."
        )
        if new:
            self.stdout.write(f"Next: manage.py member NAME --production {production.code} --role owner")
