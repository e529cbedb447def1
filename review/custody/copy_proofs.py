"""Reading a copy to its end and writing down what it is; and that it is away, or gone."""

from pathlib import Path

from django.conf import settings
from django.db import transaction
from django.utils import timezone

from review.cards.comparing import CopyReport, compare_copy
from review.cards.findings import STOP, Finding, condensed
from review.cards.tree import CardUnreadable
from review.cards.volumes import file_system, volume_above
from review.crew import activity
from review.custody import resuming
from review.custody.copies import folder_of, is_reachable, known_files
from review.custody.roots import root_is_there
from review.models import Card, Copy
from review.refusals import Refusal
from review.work import jobs


def run_copy(run: jobs.Run) -> None:
    """Read a copy's folder to its end and write down whether it is the same."""
    copy, card = run.job.copy, run.job.card
    reading = resuming.Reading(run.job)
    run.resume(reading.bytes_already)

    def progress(done: int, total: int) -> None:
        reading.write_when_due()
        run.progress(done, total)

    known = known_files(card)
    try:
        folder = folder_of(copy)
        system = file_system(folder)
        report = compare_copy(
            folder,
            known,
            is_original=copy.is_original,
            beside=[Path(other.folder) for other in card.copies.exclude(id=copy.id) if is_reachable(other)],
            progress=progress,
            already=reading.already,
            read=reading.read,
            bytes_per_second=settings.CHECK_RATE * 1_000_000,
        )
    except (CardUnreadable, Refusal, OSError) as problem:
        note_absence(copy)
        raise jobs.JobFailed(str(problem)) from None
    with transaction.atomic():
        run.hold()
        card = Card.objects.select_for_update(no_key=True).get(id=card.id)
        if known_files(card) != known or not card.trusted:
            raise jobs.JobFailed(f"{card.name} was checked meanwhile and is not what it was: prove this copy again.")
        _write_report(copy, report, system)
        reading.forget()


def _write_report(copy: Copy, report: CopyReport, system: str) -> None:
    copy.state = Copy.State.SAME if report.same else Copy.State.FAILED
    copy.findings = [finding.as_dict() for finding in condensed(report.findings)]
    copy.checked_at = timezone.now()
    copy.here, copy.fingerprint, copy.file_system = True, report.fingerprint, system
    if report.same:
        copy.proven_at = copy.checked_at
    fields = ["state", "findings", "checked_at", "here", "fingerprint", "file_system", "proven_at"]
    copy.save(update_fields=fields)
    came_of_it = "the same, byte for byte" if report.same else "not the same"
    activity.to_card(copy.card, None, "compared a copy of", f" on {copy.medium}: {came_of_it}")


def note_absence(copy: Copy) -> None:
    """A copy that cannot be looked at is away with its drive, and what was proven of it stays on record; or its drive
    is there and it is gone from it."""
    why = ""
    try:
        folder_of(copy)
        return
    except (Refusal, OSError):
        pass
    folder = Path(copy.folder)
    if folder.is_symlink():
        why = f"{copy.folder} is a link now, and no copy."
    elif not folder.is_dir():
        try:
            if root_is_there(folder) and volume_above(folder).identity == copy.medium.volume:
                why = f"{copy.medium.label} is connected, and {copy.folder} is not on it any more."
        except OSError:
            pass
    changes = {"here": False}
    if why:
        finding = Finding("gone", STOP, why, "If that is as it should be, forget this copy; else copy the card again.")
        changes |= {"state": Copy.State.FAILED, "findings": [finding.as_dict()]}
    with transaction.atomic():
        if why and Copy.objects.filter(id=copy.id).exclude(state=Copy.State.FAILED, here=False).exists():
            activity.to_card(copy.card, None, "missed a copy of", f": {why}")
        Copy.objects.filter(id=copy.id).update(**changes)
