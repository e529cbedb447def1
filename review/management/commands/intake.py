import json
import sys
import time
from datetime import timedelta
from pathlib import Path

from django.utils import timezone

from review.cards.wiping import CAUTION
from review.crew import people
from review.custody import intake, wiping
from review.custody.roots import safe_folder
from review.management.plainly import PlainCommand
from review.management.progress_line import ProgressLine, tell_job, telling_of
from review.models import Card, Job
from review.tasks import work
from review.work import jobs

HELD = 3  # exit status


class Command(PlainCommand):
    help = (
        "Take card folders in and have them checked, and proxied if they can be trusted. "
        "With --wait: exit 0 when every card is verified (or accepted), 3 when one is held."
    )

    def add_arguments(self, parser):
        parser.add_argument("folders", nargs="+", type=Path, metavar="FOLDER")
        parser.add_argument("--production", required=True, metavar="CODE")
        parser.add_argument("--wait", action="store_true", help="until they are checked and proxied")
        parser.add_argument("--json", action="store_true", help="print the report as JSON")

    def run(self, *, folders, production, wait, json: bool, **options):
        production = people.find_production(production)
        for folder in folders:  # refuse all before any is begun
            safe_folder(folder)
        cards = []
        for folder in map(safe_folder, folders):
            card = intake.take_in(folder, production)
            intake.ask_to_read(folder, card, why="manage.py intake")
            cards.append(card)
        if wait:
            self._wait(cards)
        cards = list(Card.objects.filter(id__in=[card.id for card in cards]))
        self._report(cards, as_json=json)
        if wait and any(not card.trusted for card in cards):
            sys.exit(HELD)

    def _wait(self, cards: list[Card]) -> None:
        """Until all jobs of these cards have ended; what no worker has taken is done here."""
        still_open = Job.objects.filter(card__in=cards, state__in=jobs.OPEN).select_related("card", "clip")
        line = ProgressLine()
        while job := still_open.order_by("-state", "id").first():  # those that wait before those that run
            if job.state == Job.State.WAITING:
                with telling_of(line, job):
                    work(job.id)
            else:  # another worker has it; one that was killed is given up when it has been silent for a while
                silent = timezone.now() - job.heartbeat
                if silent > timedelta(seconds=2 * jobs.PULSE_EVERY):
                    line.say(
                        f"{job}: the worker that has it has stopped; it goes on within {jobs.SILENT_AFTER.seconds} s"
                    )
                else:
                    tell_job(line, job)
                time.sleep(0.5)
                jobs.sweep()
        line.end()

    def _report(self, cards: list[Card], *, as_json: bool) -> None:
        if as_json:
            self.stdout.write(json.dumps([report(card) for card in cards], indent=2, ensure_ascii=False, default=str))
            return
        for card in cards:
            self.stdout.write(f"{card.name}: {card.state}{f' ({card.get_proof_display()})' if card.proof else ''}")
            for finding in card.findings:
                where = f"{ascii(finding['where'])[1:-1]}: " if finding["where"] else ""
                self.stdout.write(f"  {finding['severity']}: {where}{finding['what']} {finding['next']}".rstrip())
            if card.checked_at:
                self.stdout.write(f"  May this card be wiped? {wiping.answer(card).line}")
            for copy in card.copies.select_related("medium"):
                self.stdout.write(f"  copy on {copy.medium}: {copy.get_state_display()} ({copy.folder})")
            for clip in card.clips.exclude(proxy_problem=""):
                self.stdout.write(f"  no proxy of {clip.name}: {clip.proxy_problem}")
        if any(card.checked_at for card in cards):
            self.stdout.write(CAUTION)


def report(card: Card) -> dict:
    """What a check found, for scripts."""
    wipe = wiping.answer(card)
    return {
        "card": card.name,
        "production": card.production.code,
        "folder": card.folder,
        "state": card.state,
        "proof": card.proof,
        "layout": card.layout,
        "reel": card.reel,
        "files": card.file_count,
        "bytes": card.total_bytes,
        "manifests": card.manifests,
        "findings": card.findings,
        "wipe": {"may": wipe.may, "line": wipe.line, "reasons": list(wipe.reasons), "caution": CAUTION},
        "copies": [
            {"medium": copy.medium.label, "folder": copy.folder, "state": copy.state, "proven_at": copy.proven_at}
            for copy in card.copies.select_related("medium")
        ],
        "clips": [
            {
                "name": clip.name,
                "files": clip.files,
                "rate": str(clip.timebase.rate),
                "drop": clip.drop,
                "frames": clip.frames,
                "start": clip.label(0),
                "timecode_source": clip.timecode_source,
                "channels": clip.channels,
                "channel_names": clip.channel_names,
                "notes": clip.notes,
                "frame_doubt": clip.frame_doubt,
                "proxy": clip.proxy_state,
                "proxy_problem": clip.proxy_problem,
            }
            for clip in card.clips.all()
        ],
    }
