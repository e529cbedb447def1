import sys
import time
from pathlib import Path

from django.conf import settings

from review.custody import intake
from review.demo import cards, scenario, shelf
from review.management import demo_days, demo_rows, serving
from review.management.plainly import PlainCommand
from review.models import Card, Clip, Job, Production
from review.refusals import Refusal
from review.work import jobs

HOST = "127.0.0.1"


class Command(PlainCommand):
    help = "Make demo footage, take it in by the real pipeline, and serve it. Ctrl-C stops everything."

    def add_arguments(self, parser):
        parser.add_argument("--port", type=int, default=8000)
        parser.add_argument("--no-serve", action="store_true", help="stop when everything is made")

    def run(self, *, port, no_serve, **options):
        self._refuse_real_work()
        children = serving.Children()
        with serving.only_one(), serving.stopping(children):
            if not no_serve:
                serving.check_port(HOST, port)
            settings.CARD_ROOTS = shelf.roots(settings.HOME)  # never the roots of real work
            serving.prepare_home()
            cards.make_cards(settings.HOME / "cards", self._show)
            self._end_line()
            shelf.make_drives(settings.HOME)
            demo_rows.make_productions()
            asked = self._take_in()
            serving.start_workers(children)
            self._wait_for(asked, children)
            demo_rows.make_shelf()
            self._wait_for(asked, children)
            demo_days.make_logbook()
            if no_serve:
                self.stdout.write(f"The demo is ready in {settings.HOME}; serve it with: manage.py demo")
                return
            serving.start_web(children, HOST, port)
            serving.wait_until_answering(children, HOST, port)
            self._say_hello(port)
            serving.until_stopped(children)
        self.stdout.write("Stopped.")

    def _refuse_real_work(self) -> None:
        codes = [production.code for production in scenario.PRODUCTIONS]
        if real := Production.objects.exclude(code__in=codes).first():
            raise Refusal(
                f"{settings.HOME} holds real work ({real}). Give the demo a home of its own: "
                "RUSHLIGHT_HOME=/some/new/folder manage.py demo"
            )

    def _take_in(self) -> list[Card]:
        """Take in every card of the scenario; have those checked that never were."""
        taken = []
        for made in scenario.CARDS:
            production = Production.objects.get(code=made.name[:4])
            card = intake.take_in(settings.HOME / "cards" / made.folder, production)
            if card.checked_at is None:
                intake.ask_for_check(card, why="the demo")
            taken.append(card)
        return taken

    def _wait_for(self, taken: list[Card], children: serving.Children) -> None:
        """Until the worker has checked, proxied and pictured them all."""
        share = 0.0
        open_jobs = Job.objects.filter(card__in=taken, state__in=[Job.State.WAITING, Job.State.RUNNING])
        while left := open_jobs.count():
            if ended := children.ended():
                raise Refusal(f"The {ended} stopped; its own words are above.")
            done = Job.objects.filter(card__in=taken).exclude(state__in=[Job.State.WAITING, Job.State.RUNNING]).count()
            ready = Clip.objects.filter(card__in=taken, proxy_state=Clip.ProxyState.READY).count()
            share = max(share, done / (done + left))  # a job that is done asks for others
            self._show(share, f"checking and proxying: {ready} clips ready")
            jobs.sweep()
            time.sleep(0.4)
        self._show(1.0, "checked and proxied")
        self._end_line()

    def _show(self, share: float, words: str) -> None:
        bar = "#" * round(30 * share)
        if sys.stdout.isatty():
            self.stdout.write(f"\r\033[K[{bar:<30}] {words}", ending="")
        elif (percent := int(10 * share) * 10) != getattr(self, "_told", None):
            self._told = percent
            self.stdout.write(f"{percent:3} % {words}")
        self.stdout.flush()

    def _end_line(self) -> None:
        self._told = None
        if sys.stdout.isatty():
            self.stdout.write("")

    def _say_hello(self, port: int) -> None:
        self.stdout.write(f"\nRushlight is at http://{HOST}:{port}/   (Ctrl-C stops it)")
        self.stdout.write(f"Sign in with the password '{demo_rows.PASSWORD}' as one of:")
        for person in scenario.PEOPLE:
            self.stdout.write(f"  {person.login:<10}{person.role}")
        self.stdout.write(f"The camera cards are in {Path(settings.HOME) / 'cards'}")
