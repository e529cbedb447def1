"""Copies of cards: which there are, which drive each is on, and what people say of them.

    found -> same      read to its end: byte for byte what the card was when it was last trusted
          -> failed    anything else; it stays so until it is proven again or forgotten

The folder that is worked from is a copy too; its row follows the card's own checks. Nothing here writes under a
card folder.
"""

from pathlib import Path

from django.db import IntegrityError, transaction

from review import roles
from review.cards import media_kinds
from review.cards.checking import CardReport
from review.cards.comparing import KnownFile, contents_of, is_list
from review.cards.findings import STOP, Finding, condensed
from review.cards.hashing import OWN_ALGORITHM
from review.cards.tree import CardUnreadable, read_tree
from review.cards.volumes import file_system, volume_of
from review.crew import access, activity
from review.custody import naming
from review.custody.roots import safe_folder
from review.models import Card, Copy, Job, Medium, Person, Production
from review.refusals import Refusal
from review.work import jobs


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


def follow_check(card: Card, report: CardReport, known_before: dict[str, KnownFile]) -> None:
    """After a check of the card's own folder: its row among the copies says what the check said, and where the card is
    known to hold something else than before, every other copy is in doubt until it is compared again."""
    card.contents = contents_of({file.path: file.size for file in report.files})
    card.save(update_fields=["contents"])
    if _without_lists(known_files(card)) != _without_lists(known_before):
        doubt_others(card)
    folder = Path(card.folder)
    try:
        copy = _row(card, folder)
        copy.file_system = file_system(folder)
    except OSError:
        return  # it went away in this very moment; the card's own state says what was found
    same = card.state == Card.State.VERIFIED
    copy.state = Copy.State.SAME if same else Copy.State.FAILED
    copy.findings = [] if same else [each.as_dict() for each in condensed(report.findings) if each.severity == STOP]
    copy.here, copy.confirmed, copy.fingerprint, copy.checked_at = True, True, report.fingerprint, card.checked_at
    if same:
        copy.proven_at = card.checked_at
    copy.save()


def _without_lists(known: dict[str, KnownFile]) -> dict[str, KnownFile]:
    return {path: file for path, file in known.items() if not is_list(path)}


def doubt_others(card: Card) -> None:
    """What the other copies were compared with is not what the card is known to hold now."""
    others = card.copies.exclude(folder=card.folder).filter(state=Copy.State.SAME)
    others.update(state=Copy.State.FOUND, checked_at=None, settled_since=None)


def own_gone(card: Card, why: str) -> None:
    """The folder that is worked from is gone from a drive that is there: the card cannot be trusted as it is."""
    finding = Finding("gone", STOP, why, "Put the folder back, or copy the card again; then check it again.")
    with transaction.atomic():
        held = Card.objects.filter(id=card.id, state__in=Card.TRUSTED)
        if held.update(state=Card.State.HELD, findings=[finding.as_dict()], fingerprint="", settled_since=None):
            card.copies.filter(folder=card.folder).update(
                state=Copy.State.FAILED, here=False, findings=[finding.as_dict()]
            )
            activity.to_card(card, None, "held", f": {why}")


def follow_move(card: Card, folder: Path) -> None:
    """The card is worked from another folder from now on, the one that was is not there any more."""
    card.copies.filter(folder=str(folder)).exclude(folder=card.folder).delete()
    card.copies.filter(folder=card.folder).update(folder=str(folder), medium=medium_of(card.production, folder))


def _row(card: Card, folder: Path) -> Copy:
    """The row of a folder, on the medium that it is on now. One folder is one copy whatever its drive is called: only
    file systems with identifiers of their own can be two drives that take turns at one place. Raises OSError."""
    medium = medium_of(card.production, folder)
    copy = card.copies.filter(folder=str(folder), medium=medium).first()
    if copy is None:
        for old in card.copies.filter(folder=str(folder)).select_related("medium"):
            if not (_is_a_file_system(old.medium) and _is_a_file_system(medium)):
                if copy is None:
                    copy = old
                    copy.medium, copy.state = medium, Copy.State.FOUND
                    copy.checked_at = copy.settled_since = None
                    copy.save()
                else:
                    old.delete()
    return copy or card.copies.create(medium=medium, folder=str(folder))


def _is_a_file_system(medium: Medium) -> bool:
    return medium.volume.startswith("filesystem:")


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


def add(
    card: Card, folder: Path, *, is_original: bool = False, confirmed: bool = True, by: Person | None = None
) -> Copy:
    """Know `folder` as a copy of `card`. It is compared once it has stopped changing. With `confirmed` false it counts
    only when a person has said what it is."""
    own = Path(card.folder)
    if folder == own:
        raise Refusal(f"{folder} is the folder that {card.name} is worked from; it is counted already.", "folder")
    if own in folder.parents or folder in own.parents:
        raise Refusal(f"{folder} lies with the folder that {card.name} is worked from; it is no copy of it.", "folder")
    for known in card.copies.exclude(folder=str(folder)):
        if _is_one_folder(folder, Path(known.folder)):
            raise Refusal(f"{folder} is {known.folder} by another way: one folder is one copy.", "folder")
    is_new = not card.copies.filter(folder=str(folder)).exists()
    copy = _row(card, folder)
    if is_new:
        copy.confirmed = confirmed
    copy.is_original = copy.is_original or is_original or copy.medium.kind == media_kinds.ORIGINAL
    with transaction.atomic():
        copy.save(update_fields=["confirmed", "is_original"])
        if is_new:
            activity.to_card(card, by, "found a copy of", f": {folder}")
    if is_original and copy.medium.kind == media_kinds.UNKNOWN:
        Medium.objects.filter(id=copy.medium_id).update(kind=media_kinds.ORIGINAL)
    return copy


def say_what_by(person: Person, copy: Copy, *, is_original: bool) -> None:
    """A person says whether a folder that was found by its contents is a copy, or the camera's own card in a reader."""
    access.require(person, copy.card.production, roles.CHECK_CARDS)
    if copy.folder == copy.card.folder:
        raise Refusal("The folder that is worked from is a copy, and not the camera's own card.")
    copy.confirmed = True
    if copy.is_original != is_original:  # what it was compared for is another question
        copy.is_original, copy.state, copy.checked_at, copy.settled_since = is_original, Copy.State.FOUND, None, None
    with transaction.atomic():
        copy.save()
        is_what = "the camera's own card" if is_original else "a copy"
        activity.to_card(copy.card, person, "said what a folder of", f" is: {copy.folder} is {is_what}")
    if copy.state == Copy.State.FOUND and is_reachable(copy):
        ask_for_proof(copy, why=f"{person} said what it is")


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
    copy = add(card, folder, is_original=is_original, by=person)
    Copy.objects.filter(id=copy.id).update(confirmed=True)
    ask_for_proof(copy, why=f"{person} asked for it")
    return copy


def prove_by(person: Person, copy: Copy) -> Job:
    """A person asks for a copy to be read through and compared (again)."""
    access.require(person, copy.card.production, roles.CHECK_CARDS)
    with transaction.atomic():
        activity.to_card(copy.card, person, "asked for a proof of", f" on {copy.medium}")
        return ask_for_proof(copy, why=f"{person} asked for it")


def forget_by(person: Person, copy: Copy) -> None:
    """A person says that a copy is gone or worthless: it is not counted any more. Its folder is left alone."""
    access.require(person, copy.card.production, roles.CHECK_CARDS)
    if copy.folder == copy.card.folder:
        raise Refusal("The folder that is worked from cannot be forgotten; it is the card.")
    with transaction.atomic():
        activity.to_card(copy.card, person, "forgot a copy of", f" on {copy.medium}: {copy.folder}")
        copy.delete()


def ask_for_proof(copy: Copy, *, why: str) -> Job:
    """Have a copy read through: the folder that is worked from by a check of the card, any other by comparing."""
    if copy.folder == copy.card.folder:
        return jobs.ask(Job.Kind.CHECK, card=copy.card, why=why)
    if not copy.card.trusted:
        raise Refusal(
            f"{copy.card.name} is {copy.card.state}: copies are compared once the card itself can be trusted."
        )
    return jobs.ask(Job.Kind.COPY, card=copy.card, copy=copy, why=why)


def folder_of(copy: Copy) -> Path:
    """The copy's folder, if it is there and on its own medium. Raises Refusal or OSError."""
    folder = safe_folder(copy.folder)
    volume = volume_of(folder)
    if volume.identity != copy.medium.volume:
        raise Refusal(
            f"{copy.folder} is on {volume.name} now and not on {copy.medium.label}: connect that drive, or add the "
            "folder as a copy of its own."
        )
    return folder


def known_files(card: Card) -> dict[str, KnownFile]:
    """What a copy of the card must hold: each file as it was when the card was last trusted, else as last checked."""
    return {
        file.path: KnownFile(file.size, file.trusted_digest or file.hashes.get(OWN_ALGORITHM, ""))
        for file in card.files.all()
    }


def is_reachable(copy: Copy) -> bool:
    """Whether the copy's folder is there now, on its own medium."""
    try:
        return folder_of(copy).is_dir()
    except (Refusal, OSError):
        return False
