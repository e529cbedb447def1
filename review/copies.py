"""Copies of cards: finding them, reading them through, and knowing which drive each is on.

    found -> same      read to its end: byte for byte what the card was when it was last trusted
          -> failed    anything else; it stays so until it is proven again or forgotten

The folder that is worked from is a copy too; its row follows the card's own checks. Nothing here writes under a
card folder.
"""

from collections.abc import Iterable
from pathlib import Path

from django.conf import settings
from django.db import IntegrityError, transaction
from django.utils import timezone

from review import access, jobs, naming, resuming, roles
from review.cards import media_kinds
from review.cards.checking import CardReport
from review.cards.comparing import CopyReport, KnownFile, compare_copy, contents_of
from review.cards.findings import CAUTION, STOP, Finding, condensed
from review.cards.hashing import OWN_ALGORITHM
from review.cards.tree import CardUnreadable, read_tree
from review.cards.volumes import volume_of
from review.models import Card, CardFile, Copy, Job, Medium, Person, Production
from review.refusals import Refusal
from review.roots import safe_folder


def medium_of(production: Production, folder: Path) -> Medium:
    """The medium that a folder is on, made as 'not described yet' when it is new."""
    volume = volume_of(folder)
    medium = production.media.filter(volume=volume.identity).first()
    while medium is None:
        try:
            with transaction.atomic():
                medium = Medium.objects.create(
                    production=production, volume=volume.identity, label=volume.name, kind=media_kinds.UNKNOWN
                )
        except IntegrityError:
            medium = production.media.filter(volume=volume.identity).first()
    return medium


# The folder that is worked from ------------------------------------------------------------------


def follow_check(card: Card, report: CardReport) -> None:
    """After a check of the card's own folder: its row among the copies says what the check said."""
    card.contents = contents_of({file.path: file.size for file in report.files})
    card.save(update_fields=["contents"])
    try:
        medium = medium_of(card.production, Path(card.folder))
    except OSError:
        return  # it went away in this very moment; the card's own state says what was found
    same = card.state == Card.State.VERIFIED
    copy, _ = card.copies.get_or_create(medium=medium, folder=card.folder)
    copy.state = Copy.State.SAME if same else Copy.State.FAILED
    copy.findings = [] if same else [each.as_dict() for each in condensed(report.findings) if each.severity == STOP]
    copy.here, copy.fingerprint, copy.checked_at = True, report.fingerprint, card.checked_at
    if same:
        copy.proven_at = card.checked_at
    copy.save()


def follow_move(card: Card, folder: Path) -> None:
    """The card is worked from another folder from now on, the one that was is not there any more."""
    card.copies.filter(folder=str(folder)).exclude(folder=card.folder).delete()
    card.copies.filter(folder=card.folder).update(folder=str(folder), medium=medium_of(card.production, folder))


# Other folders -----------------------------------------------------------------------------------


def recognise(folder: Path) -> Card | None:
    """The known card that `folder` is another copy of, by its name, or by its contents where the name says nothing."""
    found = naming.read(folder.name)
    if found:
        production, _ = found
        return Card.objects.filter(production=production, name=folder.name).exclude(folder=str(folder)).first()
    try:
        contents = contents_of(read_tree(folder).sizes)
    except CardUnreadable:
        return None
    alike = Card.objects.filter(contents=contents).exclude(folder=str(folder)) if contents else Card.objects.none()
    return alike.first() if alike.count() == 1 else None


def add(card: Card, folder: Path, *, is_original: bool = False) -> Copy:
    """Know `folder` as a copy of `card`. It is compared once it has stopped changing."""
    if str(folder) == card.folder:
        raise Refusal(f"{folder} is the folder that {card.name} is worked from; it is counted already.", "folder")
    for known in card.copies.exclude(folder=str(folder)):
        if _is_one_folder(folder, Path(known.folder)):
            raise Refusal(f"{folder} is {known.folder} by another way: one folder is one copy.", "folder")
    medium = medium_of(card.production, folder)
    copy, _ = card.copies.get_or_create(medium=medium, folder=str(folder), defaults={"is_original": is_original})
    if is_original and not copy.is_original:
        copy.is_original = True
        copy.save(update_fields=["is_original"])
    if is_original and medium.kind == media_kinds.UNKNOWN:
        medium.kind = media_kinds.ORIGINAL
        medium.save(update_fields=["kind"])
    return copy


def _is_one_folder(one: Path, other: Path) -> bool:
    """Whether two paths lead to the same folder, as where one disk is mounted twice."""
    try:
        return one.samefile(other)
    except OSError:
        return False


def add_by(person: Person, card: Card, folder: str | Path, *, is_original: bool = False) -> Copy:
    """A person says that a folder is a copy of the card, or the camera's own card in a reader, and has it compared."""
    access.require(person, card.production, roles.CHECK_CARDS)
    folder = safe_folder(folder)
    if other := Card.objects.filter(folder=str(folder)).exclude(id=card.id).first():
        raise Refusal(f"{folder} is the folder that the card {other.name} is worked from.", "folder")
    copy = add(card, folder, is_original=is_original)
    ask_for_proof(copy, why=f"{person} asked for it")
    return copy


def prove_by(person: Person, copy: Copy) -> Job:
    """A person asks for a copy to be read through and compared (again)."""
    access.require(person, copy.card.production, roles.CHECK_CARDS)
    return ask_for_proof(copy, why=f"{person} asked for it")


def forget_by(person: Person, copy: Copy) -> None:
    """A person says that a copy is gone or worthless: it is not counted any more. Its folder is left alone."""
    access.require(person, copy.card.production, roles.CHECK_CARDS)
    if copy.folder == copy.card.folder:
        raise Refusal("The folder that is worked from cannot be forgotten; it is the card.")
    copy.delete()


def ask_for_proof(copy: Copy, *, why: str) -> Job:
    """Have a copy read through: the folder that is worked from by a check of the card, any other by comparing."""
    if copy.folder == copy.card.folder:
        return jobs.ask(Job.Kind.CHECK, card=copy.card, why=why)
    if copy.card.checked_at is None:
        raise Refusal(f"{copy.card.name} has not been checked yet, so there is nothing to compare a copy with.")
    return jobs.ask(Job.Kind.COPY, card=copy.card, copy=copy, why=why)


def run_copy(run: jobs.Run) -> None:
    """Read a copy's folder to its end and write down whether it is the same."""
    copy, card = run.job.copy, run.job.card
    reading = resuming.Reading(run.job)
    run.resume(reading.bytes_already)

    def progress(done: int, total: int) -> None:
        reading.write_when_due()
        run.progress(done, total)

    try:
        folder = safe_folder(copy.folder)
        medium = medium_of(card.production, folder)
        if medium != copy.medium:
            raise Refusal(
                f"{copy.folder} is on {medium.label} now and not on {copy.medium.label}: connect that drive, or add "
                "the folder as a copy of its own."
            )
        report = compare_copy(
            folder,
            known_files(card),
            is_original=copy.is_original,
            progress=progress,
            already=reading.already,
            read=reading.read,
            bytes_per_second=settings.CHECK_RATE * 1_000_000,
        )
    except (CardUnreadable, Refusal, OSError) as problem:
        # What was proven of it stays on record: it is away, not known to be bad.
        Copy.objects.filter(id=copy.id).update(here=False)
        raise jobs.JobFailed(str(problem)) from None
    with transaction.atomic():
        run.hold()
        _write_report(copy, report)
        reading.forget()


def known_files(card: Card) -> dict[str, KnownFile]:
    """What a copy of the card must hold: each file as it was when the card was last trusted, else as last checked."""
    return {
        file.path: KnownFile(file.size, file.trusted_digest or file.hashes.get(OWN_ALGORITHM, ""))
        for file in card.files.all()
    }


def _write_report(copy: Copy, report: CopyReport) -> None:
    copy.state = Copy.State.SAME if report.same else Copy.State.FAILED
    copy.findings = [finding.as_dict() for finding in condensed(report.findings)]
    copy.checked_at = timezone.now()
    copy.here, copy.fingerprint = True, report.fingerprint
    if report.same:
        copy.proven_at = copy.checked_at
    copy.save()


def is_reachable(copy: Copy) -> bool:
    """Whether the copy's folder is there now, on its own medium."""
    return _is_on(Path(copy.folder), copy.medium)


# What the scan does ------------------------------------------------------------------------------


def look_at(folders: Iterable[Path]) -> None:
    """Of the folders under the roots: which known copies are here, and which are ready to be compared."""
    here = {str(folder): folder for folder in folders}
    for copy in Copy.objects.select_related("card", "medium"):
        if copy.folder == copy.card.folder:
            continue
        folder = here.get(copy.folder)
        is_here = folder is not None and _is_on(folder, copy.medium)
        if is_here != copy.here:
            copy.here = is_here
            copy.save(update_fields=["here"])
        if is_here:
            _compare_when_settled(copy, folder)


def _is_on(folder: Path, medium: Medium) -> bool:
    try:
        return volume_of(folder).identity == medium.volume
    except OSError:
        return False


def _compare_when_settled(copy: Copy, folder: Path) -> None:
    """A copy is compared when it is new or has changed, and holds still."""
    if copy.card.checked_at is None:
        return
    try:
        fingerprint = read_tree(folder).fingerprint
    except CardUnreadable:
        return
    now = timezone.now()
    if fingerprint != copy.fingerprint or copy.settled_since is None:
        unchanged = fingerprint == copy.fingerprint and copy.checked_at is not None
        copy.fingerprint, copy.settled_since = fingerprint, copy.checked_at if unchanged else now
        copy.save(update_fields=["fingerprint", "settled_since"])
    elif (now - copy.settled_since).total_seconds() >= settings.SETTLE and (
        copy.checked_at is None or copy.settled_since > copy.checked_at
    ):
        ask_for_proof(copy, why="its folder was found and has stopped changing")


# The same footage under another name -------------------------------------------------------------


def doubles(card: Card, report: CardReport) -> list[Finding]:
    """Footage of this card that is on another card of the production as well."""
    own = {path for clip in report.clips for path in clip.plan.essence}
    digests = {f.hashes[OWN_ALGORITHM]: f.path for f in report.files if f.path in own and f.size and f.hashes}
    sizes = sorted({file.size for file in report.files if file.path in own and file.size})
    shared: dict[Card, set[str]] = {}
    for at in range(0, len(sizes), 500):
        files = CardFile.objects.filter(card__production=card.production, size__in=sizes[at : at + 500])
        for file in files.filter(here=True).exclude(card=card).select_related("card"):
            if (digest := file.hashes.get(OWN_ALGORITHM)) in digests:
                shared.setdefault(file.card, set()).add(digest)
    return [_double(card, other, found, set(digests)) for other, found in shared.items()]


def _double(card: Card, other: Card, shared: set[str], own: set[str]) -> Finding:
    theirs = {path for clip in other.clips.all() for path in clip.essence}
    all_theirs = {f.hashes.get(OWN_ALGORITHM) for f in other.files.filter(here=True) if f.path in theirs and f.size}
    ask = "Find out which card this is before either is counted on. Do not wipe a card because of it."
    if shared == own and shared == all_theirs:
        what = f"All of this card's footage is the same as that of {other.name}: one card under two names."
        return Finding("same-content", STOP, what, ask)
    if shared == all_theirs:
        what = f"This folder holds all the footage of {other.name} beside other footage: two cards in one folder."
        return Finding("merged", STOP, what, f"Copy each card to a folder of its own. {ask}")
    if shared == own:
        what = f"All of this card's footage is on {other.name} as well, which holds more."
        return Finding("same-content", STOP, what, ask)
    count = f"{len(shared)} file{'' if len(shared) == 1 else 's'}"
    what = f"{count} of this card's footage {'is' if len(shared) == 1 else 'are'} on {other.name} as well."
    return Finding("shared-content", CAUTION, what, ask)
