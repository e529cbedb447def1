import sys

from django.utils import timezone

from review import people, shelf
from review.management.plainly import PlainCommand
from review.models import Copy, Job
from review.tasks import work

NOT_THE_SAME = 3  # exit status


class Command(PlainCommand):
    help = (
        "Prove copies that are due, the longest overdue first, a few at a time: each is read to its end and compared. "
        "Run it from a timer, or by hand when drives are connected. Nothing on a copy is changed. "
        "With --wait: exit 3 when a copy is not the same."
    )

    def add_arguments(self, parser):
        parser.add_argument("--production", metavar="CODE", help="of this production only")
        parser.add_argument("--at-most", type=int, default=5, metavar="N", help="copies, in this run (5)")
        parser.add_argument(
            "--wait", action="store_true", help="until they are proven, doing it here if no worker does"
        )

    def run(self, *, production, at_most, wait, **options):
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
        if wait and self._report(asked):
            sys.exit(NOT_THE_SAME)

    def _wait_for(self, copy: Copy) -> None:
        is_own = copy.folder == copy.card.folder
        about = {"kind": Job.Kind.CHECK, "card": copy.card} if is_own else {"kind": Job.Kind.COPY, "copy": copy}
        for job in Job.objects.filter(**about, state=Job.State.WAITING):
            work(job.id)

    def _report(self, asked: list[Copy]) -> bool:
        """Say how each of them is. Returns whether one is not the same."""
        found = Copy.objects.filter(id__in=[copy.id for copy in asked]).select_related("card", "medium")
        for copy in found:
            self.stdout.write(f"{copy}: {copy.get_state_display()}")
            for finding in copy.findings:
                self.stdout.write(f"  {finding['severity']}: {finding['what']} {finding['next']}".rstrip())
        return any(copy.state == Copy.State.FAILED for copy in found)
