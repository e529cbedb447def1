from django.conf import settings

from review.management import serving
from review.management.plainly import PlainCommand
from review.models import Membership, Production


class Command(PlainCommand):
    help = "Serve Rushlight from this machine: web server and worker together. Ctrl-C stops everything."

    def add_arguments(self, parser):
        parser.add_argument("--host", default="127.0.0.1", help="the address to serve on (default: this machine only)")
        parser.add_argument("--port", type=int, default=8000)

    def run(self, *, host, port, **options):
        children = serving.Children()
        with serving.only_one(), serving.stopping(children):
            serving.check_port(host, port)
            serving.prepare_home()
            serving.start_workers(children)
            serving.start_web(children, host, port)
            serving.wait_until_answering(children, host, port)
            self._say_hello(host, port)
            serving.until_stopped(children)
        self.stdout.write("Stopped.")

    def _say_hello(self, host: str, port: int) -> None:
        self.stdout.write(f"Rushlight is at http://{host}:{port}/   (Ctrl-C stops it)")
        self.stdout.write(f"Data: {settings.HOME}")
        self.stdout.write(f"Cards are looked for under: {', '.join(map(str, settings.CARD_ROOTS))}")
        if not Production.objects.exists():
            self.stdout.write(
                "There is no production yet. In another terminal, with the same RUSHLIGHT_HOME:\n"
                '  manage.py production KB04 "Its title" --rate 25\n'
                "  manage.py member NAME --production KB04 --role owner      (prints a password)\n"
                "The owner adds the others on the People page."
            )
        elif not Membership.objects.exists():
            self.stdout.write("Nobody can sign in yet: manage.py member NAME --production CODE --role owner")
