import sys
import time
from datetime import datetime

from django.utils import timezone

from review.crew import people
from review.custody import shelf
from review.management.plainly import PlainCommand
from review.models import Copy, Job
from review.tasks import work
from review.work import jobs

NOT_THE_SAME = 3  # exit status


class Command(PlainCommand):
    help = (
        "Prove copies that are due, the longest overdue first, a few at a time: each is read to its end and compared. "
        "Run it from a timer, or by hand when drives are connected. Nothing on a copy is changed. "
        "With --wait: exit 3 when one is not the same, or could not be proven."
    )

    def add_arguments(self, parser):
        parser.add_argument("--production", metavar="CODE", help="of this production only")
        parser.add_argument("--at-most", type=int, default=5, metavar="N", help="copies, in this run (5)")
        parser.add_argument(
            "--wait", action="store_true", help="until they are proven, doing it here if no worker does"
        )

    def run(self, *, production, at_most, wait, **options):
        since = timezone.now()
        production = people.find_production(production) if production else None
        asked, away = shelf.recheck(production, most=max(0, at_most), today=timezone.localdate())
        for copy in asked:
            self.stdout.write(f"to be proven: {copy}")
            if wait:
                self._wait_for(copy)
        for copy in away:
            self.stdout.write(f"due, but away: {copy}; connect {copy.medium.label}")
        if not asked and not away:
            self.stdout.write("Nothing is due.")
        if wait and self._report(asked, since):
            sys.exit(NOT_THE_SAME)

    def _wait_for(self, copy: Copy) -> None:
        """Until its job has ended, done here if no worker does it."""
        is_own = copy.folder == copy.card.folder
        about = {"kind": Job.Kind.CHECK, "card": copy.card} if is_own else {"kind": Job.Kind.COPY, "copy": copy}
        while job := Job.objects.filter(**about, state__in=jobs.OPEN).first():
            if job.state == Job.State.WAITING:
                work(job.id)
            else:
                time.sleep(0.5)
                jobs.sweep()

    def _report(self, asked: list[Copy], since: datetime) -> bool:
        """Say how each of them is. Returns whether one was not proven now."""
        found = Copy.objects.filter(id__in=[copy.id for copy in asked]).select_related("card", "medium")
        for copy in found:
            if copy.checked_at is None or copy.checked_at < since:
                job = Job.objects.filter(card=copy.card, state=Job.State.FAILED).first()
                self.stdout.write(f"{copy}: not proven: {job.error if job else 'it could not be read'}")
                continue
            self.stdout.write(f"{copy}: {copy.get_state_display()}")
            for finding in copy.findings:
                self.stdout.write(f"  {finding['severity']}: {finding['what']} {finding['next']}".rstrip())
        return any(copy.state != Copy.State.SAME or copy.checked_at < since for copy in found)
