"""Taking cards in: finding their folders, checking them, holding or trusting them.

    found -> checking -> verified            proxies are made
                      -> held  -> accepted   by a person, with a reason; proxies are made

Nothing here writes under a card folder.
"""

import os
from collections.abc import Iterator
from pathlib import Path

from django.conf import settings
from django.db import IntegrityError, transaction
from django.utils import timezone

from review import access, jobs, proxying, roles, watching
from review.cards.checking import CardReport, CheckedClip, check_card
from review.cards.findings import STOP, Finding, condensed
from review.cards.names import CardName, NameMisfit, parse_card_name
from review.cards.reels import reel_for
from review.cards.tree import CardUnreadable, is_litter, read_tree
from review.media.probe import joined, probe
from review.models import Card, CardFile, Clip, Job, Person, Production
from review.refusals import Refusal

_HELD_AGAIN_AFTER = (Card.State.FOUND, Card.State.HELD)  # states in which a folder is watched for changes


# Finding ---------------------------------------------------------------------------------------


def safe_folder(path: str | Path) -> Path:
    """`path` if it is a real folder below a card root, reached without '..' or links; else a Refusal."""
    folder = Path(path)
    shown = ascii(str(path)) if not str(path).isprintable() else str(path)
    if ".." in folder.parts or "\0" in str(path):
        raise Refusal(f"{shown} leads out of the card roots; give the folder's own path.", "folder")
    folder = folder.absolute()
    for root in settings.CARD_ROOTS:
        if root not in folder.parents:
            continue
        step = root
        for part in folder.relative_to(root).parts:
            step = step / part
            if step.is_symlink():
                raise Refusal(f"{shown} is reached through a link; copy the card itself under {root}.", "folder")
        try:
            if not folder.is_dir():
                raise Refusal(f"{shown} is not a folder that is there now; look at the drive and its cable.", "folder")
        except OSError as problem:
            raise Refusal(f"{shown} cannot be read ({problem.strerror}).", "folder") from None
        try:
            str(folder).encode()
        except UnicodeEncodeError:
            raise Refusal(f"{shown} has a name that is not UTF-8 text; it must be named again.", "folder") from None
        return folder
    roots = os.pathsep.join(map(str, settings.CARD_ROOTS))
    raise Refusal(f"{shown} is not under a card root ({roots}); set RUSHLIGHT_CARDS to the folder above it.", "folder")


def card_folders() -> Iterator[Path]:
    """The folders under the roots that look like cards: the roots' own children, and below a child
    that is only a shelf (its name is no card's, and it holds folders that are)."""
    for root in settings.CARD_ROOTS:
        for child in _subfolders(root):
            if not _fits(child.name) and any(_fits(below.name) for below in _subfolders(child)):
                yield from _subfolders(child)
            else:
                yield child


def _subfolders(folder: Path) -> list[Path]:
    try:
        with os.scandir(folder) as entries:
            found = [Path(e.path) for e in entries if e.is_dir(follow_symlinks=False) and not is_litter(e.name)]
    except OSError:
        return []  # a root that is away for now
    return sorted(path for path in found if not path.name.startswith("."))


def _fits(name: str) -> bool:
    try:
        parse_card_name(name)
    except NameMisfit:
        return False
    return True


def _name_or_nearest(name: str) -> CardName | None:
    try:
        return parse_card_name(name)
    except NameMisfit as misfit:
        return parse_card_name(misfit.nearest) if misfit.nearest else None


def production_for(folder: Path) -> Production | None:
    """The production that a folder's name, or the nearest name that fits, belongs to. A name that says
    nothing goes to the only production there is, if there is one; None where nobody can tell."""
    if name := _name_or_nearest(folder.name):
        return Production.objects.filter(code=name.production).first()
    everything = list(Production.objects.all()[:2])
    return everything[0] if len(everything) == 1 else None


def scan() -> None:
    """Look under the roots: take in new folders, and check those that have stopped changing."""
    known = {card.folder: card for card in Card.objects.all()}
    for folder in card_folders():
        card = known.get(str(folder))
        if card is None:
            production = production_for(folder)
            if production is None:
                continue  # listed by unclaimed()
            try:
                card = take_in(folder, production)
            except Refusal:
                continue  # a second folder of the same name: said by unclaimed() too
        if card.state in _HELD_AGAIN_AFTER:
            _check_when_settled(card)


def _check_when_settled(card: Card) -> None:
    try:
        fingerprint = read_tree(Path(card.folder)).fingerprint
    except CardUnreadable:
        return
    now = timezone.now()
    if fingerprint != card.fingerprint or card.settled_since is None:
        card.fingerprint, card.settled_since = fingerprint, now
        card.save(update_fields=["fingerprint", "settled_since"])
    elif (now - card.settled_since).total_seconds() >= settings.SETTLE and (
        card.checked_at is None or card.settled_since > card.checked_at
    ):
        ask_for_check(card, why="its folder was found and has stopped changing")


def unclaimed() -> list[Path]:
    """Folders under the roots that no production's card is."""
    known = set(Card.objects.values_list("folder", flat=True))
    return [folder for folder in card_folders() if str(folder) not in known]


def take_in(folder: str | Path, production: Production) -> Card:
    """The card of this folder, made as `found` if it is new."""
    folder = safe_folder(folder)
    card = Card.objects.filter(production=production, name=folder.name).first()
    if card is None:
        card = _new_card(folder, production)
    if card.folder != str(folder):
        if Path(card.folder).is_dir():
            raise Refusal(
                f"{production.code} has a card named {card.name} already, in {card.folder}. A name is used once: "
                "if this is another copy of it, keep it out of the card roots; if it is another card, name it again.",
                "folder",
            )
        card.folder = str(folder)  # the drive is mounted elsewhere now
        card.save(update_fields=["folder"])
    return card


def _new_card(folder: Path, production: Production) -> Card:
    name = _name_or_nearest(folder.name)
    for _ in range(20):  # somebody may take the reel between the look and the write
        taken = set(production.cards.values_list("reel", flat=True))
        try:
            with transaction.atomic():
                return Card.objects.create(
                    production=production,
                    name=folder.name,
                    folder=str(folder),
                    reel=reel_for(folder.name, taken),
                    shoot_date=name.shoot_date if name else None,
                    camera=name.camera if name else "",
                    number=name.number if name else None,
                )
        except IntegrityError:
            if card := Card.objects.filter(production=production, name=folder.name).first():
                return card
    raise Refusal(f"no reel could be given to {folder.name}; try again", "folder")


# Checking --------------------------------------------------------------------------------------


def ask_for_check(card: Card, *, why: str) -> Job:
    return jobs.ask(Job.Kind.CHECK, card=card, why=why)


def check_by(person: Person, card: Card) -> Job:
    """A person asks for a card to be checked (again)."""
    access.require(person, card.production, roles.CHECK_CARDS)
    return ask_for_check(card, why=f"{person} asked for it")


def run_check(run: jobs.Run) -> None:
    """Read the whole card folder and write down what was found. Reads only."""
    card = run.job.card
    Card.objects.filter(id=card.id).update(state=Card.State.CHECKING)
    try:
        folder = safe_folder(card.folder)
        report = check_card(folder, production=card.production.code, probe=probe, progress=run.progress)
    except (CardUnreadable, Refusal) as problem:
        _hold_unreadable(run, str(problem))
        raise jobs.JobFailed(str(problem)) from None
    with transaction.atomic():
        run.hold()
        _write_report(Card.objects.select_for_update().get(id=card.id), report)


def _hold_unreadable(run: jobs.Run, problem: str) -> None:
    finding = Finding("unreadable", STOP, problem, "Connect the drive or copy the card again, then check it again.")
    with transaction.atomic():
        run.hold()
        Card.objects.filter(id=run.job.card_id).update(
            state=Card.State.HELD, findings=[finding.as_dict()], checked_at=timezone.now()
        )


def _write_report(card: Card, report: CardReport) -> None:
    findings = [finding.as_dict() for finding in condensed(report.findings)]
    stands = card.accepted_at is not None and _stops(card.findings) == _stops(findings)
    card.layout = report.layout
    card.findings = findings
    card.manifests = list(report.manifests)
    card.proof = report.proof
    card.total_bytes = report.total_bytes
    card.file_count = len(report.files)
    if card.fingerprint != report.fingerprint:
        card.fingerprint, card.settled_since = report.fingerprint, timezone.now()
    card.checked_at = timezone.now()
    if not report.held:
        card.state = Card.State.VERIFIED
    else:
        card.state = Card.State.ACCEPTED if stands else Card.State.HELD
    card.save()
    card.files.all().delete()
    CardFile.objects.bulk_create(
        [
            CardFile(card=card, path=f.path, size=f.size, modified=f.modified, hashes=f.hashes, proven=f.proven)
            for f in report.files
        ],
        batch_size=1000,
    )
    for checked in report.clips:
        _write_clip(card, checked)
    if card.trusted:
        proxying.ask_for_proxies(card, why=f"{card.name} was {card.state}")


def _stops(findings: list[dict]) -> set[tuple[str, str, str]]:
    return {(each["code"], each["where"], each["what"]) for each in findings if each["severity"] == STOP}


def _write_clip(card: Card, checked: CheckedClip) -> None:
    """Make or renew a clip's row. One that is known keeps its id, and so everything that was marked on it."""
    if not checked.probes:
        return
    whole = joined(checked.probes)
    timebase = whole.timebase(card.production.timebase)
    start = whole.start_frame(timebase)
    clip = card.clips.filter(name=checked.plan.name).first() or Clip(card=card, name=checked.plan.name)
    clip.kind = checked.plan.kind
    clip.files = list(checked.plan.files)
    clip.sidecars = list(checked.plan.sidecars)
    clip.probe = whole.as_dict()
    clip.rate_numerator, clip.rate_denominator = timebase.rate.numerator, timebase.rate.denominator
    clip.drop = timebase.drop
    clip.frames = whole.length(timebase)
    clip.start_frame = start or 0
    clip.timecode_source = (whole.timecode_source or "") if start is not None else ""
    clip.channels = whole.channels
    watching.count_seen(clip)
    clip.save()


def hold_abandoned() -> None:
    """Cards whose check was given up (its worker died too often) are held, and say so."""
    open_checks = Job.objects.filter(kind=Job.Kind.CHECK, state__in=[Job.State.WAITING, Job.State.RUNNING])
    stuck = Card.objects.filter(state=Card.State.CHECKING).exclude(jobs__in=open_checks)
    finding = Finding("check-stopped", STOP, "The check did not come to its end.", "Check the card again.")
    stuck.update(state=Card.State.HELD, findings=[finding.as_dict()], checked_at=timezone.now())


def accept(card: Card, person: Person, reason: str) -> None:
    """A person trusts a held card, for a reason that stays on record."""
    access.require(person, card.production, roles.ACCEPT_CARDS)
    reason = reason.strip()
    if len(reason) < 3:
        raise Refusal("Say why this card may be trusted although it is held; the reason stays on record.", "reason")
    taken = Card.objects.filter(id=card.id, state=Card.State.HELD).update(
        state=Card.State.ACCEPTED, accepted_by=person, accepted_at=timezone.now(), accepted_reason=reason
    )
    if not taken:
        raise Refusal(f"{card.name} is not held now, so there is nothing to accept; look at it again.")
    card.refresh_from_db()
    proxying.ask_for_proxies(card, why=f"{person} accepted {card.name}")
