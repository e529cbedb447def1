"""Checking cards: reading the whole folder, and writing down what was found. Nothing on a card is changed."""

from dataclasses import dataclass, replace
from pathlib import Path

from django.conf import settings
from django.db import transaction
from django.utils import timezone

from review.cards.checking import CardReport, CheckedClip, check_card
from review.cards.findings import STOP, Finding, by_severity, condensed
from review.cards.hashing import OWN_ALGORITHM
from review.cards.tree import CardUnreadable
from review.cards.volumes import volume_above
from review.crew import activity
from review.custody import copies, doubles, resuming
from review.custody.roots import root_is_there, safe_folder
from review.derived import proxying
from review.media.probe import SOUND, Probe, joined, probe
from review.media.sidecars import read_sidecars, shorter_than_said, with_sidecars
from review.models import Card, CardFile, Clip, Job, Production
from review.record import watching
from review.refusals import Refusal
from review.work import jobs


@dataclass(frozen=True)
class Described:
    """A clip of a report, and what its files and the XML beside them say of it as a whole."""

    checked: CheckedClip
    whole: Probe
    findings: tuple[Finding, ...]


def run_check(run: jobs.Run) -> None:
    """Read the whole card folder, or what an earlier run of this job had not read, and write down what was found."""
    card = run.job.card
    # A trusted card stays in use while it is read again.
    Card.objects.filter(id=card.id, state__in=[Card.State.FOUND, Card.State.HELD]).update(state=Card.State.CHECKING)
    reading = resuming.Reading(run.job)
    run.resume(reading.bytes_already)

    def progress(done: int, total: int) -> None:
        reading.write_when_due()
        run.progress(done, total)

    try:
        report = check_card(
            safe_folder(card.folder),
            production=card.production.code,
            name_rule=card.production.name_rule,
            probe=probe,
            earlier=when_trusted(card),
            progress=progress,
            already=reading.already,
            read=reading.read,
            bytes_per_second=settings.CHECK_RATE * 1_000_000,
        )
    except (CardUnreadable, Refusal) as problem:
        _hold_unreadable(run, str(problem))
        raise jobs.JobFailed(str(problem)) from None
    clips = [_described(card, checked) for checked in report.clips if checked.probes]
    with transaction.atomic():
        run.hold()
        card = _locked(card)
        found = (*report.findings, *doubles.doubles(card, report), *(each for clip in clips for each in clip.findings))
        _write_report(card, replace(report, findings=by_severity(found)), clips)
        reading.forget()


def _locked(card: Card) -> Card:
    """Its production, so that two cards of one content see each other; its clips by id; and the card: in the order in
    which people who mark or take stretches lock them. None by its key, so that what they write can point at them."""
    Production.objects.select_for_update(no_key=True).get(id=card.production_id)
    list(card.clips.select_for_update(no_key=True).order_by("id").values_list("id", flat=True))
    return Card.objects.select_for_update(of=("self",), no_key=True).select_related("production").get(id=card.id)


def when_trusted(card: Card) -> dict[str, dict[str, str]]:
    """The hashes by path of when the card was last trusted, as check_card compares with; {} if it never was."""
    rows = dict(card.files.values_list("path", "trusted_digest"))
    if not any(rows.values()):
        return {}
    return {path: {OWN_ALGORITHM: digest} if digest else {} for path, digest in rows.items()}


def _hold_unreadable(run: jobs.Run, problem: str) -> None:
    """A card that cannot be looked at now is held. One that was trusted before is only away, unless its drive is there
    and it is gone from it."""
    finding = Finding("unreadable", STOP, problem, "Connect the drive or copy the card again, then check it again.")
    with transaction.atomic():
        run.hold()
        held = Card.objects.filter(id=run.job.card_id, state=Card.State.CHECKING).update(
            state=Card.State.HELD,
            findings=[finding.as_dict()],
            checked_at=timezone.now(),
            fingerprint="",  # so that the scan sees a change when the drive is back
        )
        if held:
            activity.to_card(run.job.card, None, "held", f": {problem}")
    look_for_own(run.job.card)


def look_for_own(card: Card) -> None:
    """Hold a trusted card whose folder is gone from a drive that is there."""
    folder = Path(card.folder)
    if folder.is_dir() and not folder.is_symlink():
        return
    row = card.copies.filter(folder=card.folder).select_related("medium").first()
    try:
        is_there = bool(row) and root_is_there(folder) and volume_above(folder).identity == row.medium.volume
    except OSError:
        is_there = False
    if folder.is_symlink() or is_there:
        copies.own_gone(card, f"{card.folder} is not there any more, though its drive is.")


def hold_abandoned() -> None:
    """Cards whose check was given up (its worker died too often) are held, and say so."""
    open_checks = Job.objects.filter(kind=Job.Kind.CHECK, state__in=jobs.OPEN)
    stuck = Card.objects.filter(state=Card.State.CHECKING).exclude(jobs__in=open_checks)
    finding = Finding("check-stopped", STOP, "The check did not come to its end.", "Check the card again.")
    with transaction.atomic():
        cards = list(stuck.select_for_update(of=("self",), no_key=True).select_related("production"))
        stuck.update(state=Card.State.HELD, findings=[finding.as_dict()], checked_at=timezone.now())
        for card in cards:
            activity.to_card(card, None, "held", f": {finding.what}")


def _write_report(card: Card, report: CardReport, clips: list[Described]) -> None:
    card.layout = report.layout
    card.findings = [finding.as_dict() for finding in condensed(report.findings)]
    card.manifests = list(report.manifests)
    card.proof = report.proof
    card.total_bytes = report.total_bytes
    card.file_count = len(report.files)
    if card.fingerprint != report.fingerprint:
        card.fingerprint, card.settled_since = report.fingerprint, timezone.now()
    card.checked_at = timezone.now()
    was, card.state = card.state, _state(card, report)
    card.save()
    known_before = copies.known_files(card)
    altered = _write_files(card, report, trust_anew=card.state == Card.State.VERIFIED and was != Card.State.VERIFIED)
    copies.follow_check(card, report, known_before)
    for clip in clips:
        _write_clip(card, clip.checked, clip.whole, altered)
    _put_away_parts(card, report)
    _happened(card)
    if card.trusted:
        proxying.ask_for_proxies(card, why=f"{card.name} was {card.state}")


def _happened(card: Card) -> None:
    """Each check is on record with what came of it."""
    if card.state == Card.State.VERIFIED:
        more = card.get_proof_display()
    else:
        stops = [each["what"] for each in card.findings if each["severity"] == STOP]
        more = f"{len(stops)} finding{'' if len(stops) == 1 else 's'}. {' '.join(stops)}"
    activity.to_card(card, None, "checked" if card.state == Card.State.ACCEPTED else card.state, f": {more}")


def _state(card: Card, report: CardReport) -> str:
    """What somebody accepted stays accepted as long as nothing new is found."""
    if not report.held:
        return Card.State.VERIFIED
    knew = card.accepted_at is not None and card.stops == card.accepted_stops
    return Card.State.ACCEPTED if knew else Card.State.HELD


def _write_files(card: Card, report: CardReport, *, trust_anew: bool) -> set[str]:
    """Write down what the files are. Returns the paths of those that are not what they were last time.

    What they were when the card was last trusted stays beside it for later checks to compare with, until
    the card is trusted anew.
    """
    known = {file.path: file for file in card.files.all()}
    rows, altered = [], set()
    for file in report.files:
        before, digest = known.pop(file.path, None), file.hashes.get(OWN_ALGORITHM, "")
        if before and before.hashes.get(OWN_ALGORITHM) != digest:
            altered.add(file.path)
        trusted = before.trusted_digest if before else ""
        if trust_anew or (trusted and file.proven):  # one that was mended agrees with what came with the card
            trusted = digest
        rows.append(
            CardFile(
                card=card,
                path=file.path,
                size=file.size,
                modified=file.modified,
                hashes=file.hashes,
                proven=file.proven,
                trusted_digest=trusted,
            )
        )
    if not trust_anew:
        for gone in known.values():
            if gone.trusted_digest:
                gone.pk, gone.here, gone.proven = None, False, False
                rows.append(gone)
    card.files.all().delete()
    CardFile.objects.bulk_create(rows, batch_size=1000)
    return altered


def trust_as_it_is(card: Card) -> None:
    """After a person accepted it: later checks compare with what is here now, but for what was wrong with it."""
    wrong = {where for _, where, _ in card.stops}
    rows = list(card.files.filter(here=True))
    for row in rows:
        row.trusted_digest = "" if row.path in wrong else row.hashes.get(OWN_ALGORITHM, "")
    CardFile.objects.bulk_update(rows, ["trusted_digest"], batch_size=500)
    card.files.filter(here=False).delete()


def _described(card: Card, checked: CheckedClip) -> Described:
    plan, whole = checked.plan, joined(checked.probes, checked.beside[0] if checked.beside else ())
    told = read_sidecars(Path(card.folder), plan.sidecars, plan.files)
    short = shorter_than_said(told, checked.probes, plan.files)
    findings = tuple(_cut_short(*each) for each in short)
    return Described(checked, with_sidecars(whole, checked.probes, told), findings)


def _cut_short(path: str, counted: int, said: int) -> Finding:
    what = f"{path} holds {counted:,} frames, and the clip's XML says {said:,}: its end is missing."
    next_step = "Do not wipe the card. Copy this file again from it, then check again."
    return Finding("shorter-than-said", STOP, what, next_step, path)


def _put_away_parts(card: Card, report: CardReport) -> None:
    """Clips that are known by now to be parts of others. One that somebody marked or watched stays, and says so."""
    plans = [checked.plan for checked in report.clips]
    held = {path for plan in plans for path in plan.essence}
    for clip in card.clips.exclude(name__in=[plan.name for plan in plans]):
        if not held.issuperset(clip.essence):
            continue  # its files are gone: that is said, and it stays
        if clip.selects.exists() or clip.watched_ranges.exists() or clip.stints.exists():
            clip.notes = ["Its files are part of another clip of this card: mark there from now on."]
            clip.save(update_fields=["notes"])
        else:
            clip.delete()


def _write_clip(card: Card, checked: CheckedClip, whole: Probe, altered: set[str]) -> None:
    """Make or renew a clip's row. One that is known keeps its id, and so everything that was marked on it."""
    plan = checked.plan
    clip = card.clips.filter(name=plan.name).first() or Clip(card=card, name=plan.name)
    sound_files = [list(beside) for beside in plan.sound_files]
    same = clip.files == list(plan.files) and clip.sound_files == sound_files and not altered.intersection(plan.essence)
    # Sound takes the production's rate once: what was marked on it would move with another.
    timebase = clip.timebase if same and whole.kind == SOUND else whole.timebase(card.production.timebase)
    start = whole.start(timebase)
    if not same:
        clip.proxy_state, clip.proxied_frames = Clip.ProxyState.WAITING, 0  # what was made is of another recording
    if not (same and whole.variable_rate and clip.proxy_state == Clip.ProxyState.READY):
        clip.frames = whole.length(timebase)
        clip.file_frames = [each.length(timebase) for each in checked.probes]
    clip.kind = plan.kind
    clip.files = list(plan.files)
    clip.sound_files = sound_files
    clip.sidecars = list(plan.sidecars)
    clip.probe = whole.as_dict()
    clip.rate_numerator, clip.rate_denominator = timebase.rate.numerator, timebase.rate.denominator
    clip.drop = timebase.drop
    clip.start_frame, clip.timecode_source = start.frame, start.source
    clip.channels = whole.channels
    clip.channel_names = list(whole.channel_names)
    clip.notes = [*whole.notes, *start.notes]
    watching.count_seen(clip)
    clip.save()
