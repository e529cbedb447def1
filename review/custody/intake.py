"""Taking cards in: finding their folders, having them checked, trusting those that a person accepts.

    found -> checking -> verified            proxies are made
                      -> held  -> accepted   by a person, with a reason; proxies are made

Nothing here writes under a card folder.
"""

from pathlib import Path

from django.conf import settings
from django.db import IntegrityError, transaction
from django.db.models import F
from django.utils import timezone

from review import roles
from review.cards.reels import reel_for
from review.cards.tree import CardUnreadable, read_tree
from review.cards.volumes import volume_above
from review.crew import access, activity
from review.custody import card_checks, copies, copy_scan, naming
from review.custody.roots import card_folders, root_is_there, safe_folder
from review.derived import proxying
from review.models import Card, Copy, Job, Person, Production
from review.refusals import Refusal
from review.work import jobs

_WATCHED_FOR_CHANGES = (Card.State.FOUND, Card.State.HELD)


def production_for(folder: Path) -> Production | None:
    """The production that a folder's name, or the nearest name that fits, belongs to. A name that says
    nothing goes to the only production there is, if there is one; None where nobody can tell."""
    if found := naming.read_or_nearest(folder.name):
        return found[0]
    everything = list(Production.objects.all()[:2])
    return everything[0] if len(everything) == 1 and not naming.names_a_production(folder.name) else None


def scan() -> None:
    """Look under the roots: take in new folders and copies, and read those that have stopped changing."""
    folders = list(card_folders())
    known = {card.folder: card for card in Card.objects.all()}
    copied = set(Copy.objects.values_list("folder", flat=True))
    for folder in folders:
        card = known.get(str(folder))
        if card is None and str(folder) not in copied:
            card = _find(folder)
        if card and card.folder == str(folder) and card.state in _WATCHED_FOR_CHANGES:
            _check_when_settled(card)
    copy_scan.look_at()
    _look_at_trusted()


def _look_at_trusted() -> None:
    """Trusted cards stay as they are; the scan makes sure of some of them each time, those it saw longest ago."""
    trusted = Card.objects.filter(state__in=Card.TRUSTED).order_by(F("looked_at").asc(nulls_first=True))
    for card in trusted[: copy_scan.LOOKED_AT_ONCE]:
        Card.objects.filter(id=card.id).update(looked_at=timezone.now())
        card_checks.look_for_own(card)
        _check_when_settled(card)


def _find(folder: Path) -> Card | None:
    """The card whose folder, or copy, a new folder is; None for one that is left to unclaimed()."""
    try:
        if (card := copies.recognise(folder)) and not _has_moved(card):
            copies.add(card, folder, confirmed=card.name == folder.name)
            return card
        production = production_for(folder)
        return take_in(folder, production) if production else None
    except (Refusal, OSError):
        return None


def _check_when_settled(card: Card) -> None:
    try:
        fingerprint = read_tree(Path(card.folder)).fingerprint
    except CardUnreadable:
        return
    now = timezone.now()
    copy_scan.out_of_the_future(card, now)
    if fingerprint != card.fingerprint or card.settled_since is None:
        card.fingerprint, card.settled_since = fingerprint, now
        card.save(update_fields=["fingerprint", "settled_since"])
    elif (now - card.settled_since).total_seconds() >= settings.SETTLE and (
        card.checked_at is None or card.settled_since > card.checked_at
    ):
        ask_for_check(card, why="its folder was found and has stopped changing")


def unclaimed() -> list[Path]:
    """Folders under the roots that are no production's card and no card's copy."""
    known = set(Card.objects.values_list("folder", flat=True)) | set(Copy.objects.values_list("folder", flat=True))
    return [folder for folder in card_folders() if str(folder) not in known]


def take_in(folder: str | Path, production: Production, by: Person | None = None) -> Card:
    """The card of this folder, made as `found` if it is new; the folder is one more copy of a known card of that name.
    A known card whose folder has moved is `found` again: what is there has not been looked at."""
    folder = safe_folder(folder)
    _refuse_others_footage(folder, production)
    card = Card.objects.filter(production=production, name=folder.name).first() or _new_card(folder, production, by)
    if card.folder == str(folder):
        return card
    if not _has_moved(card):
        copies.add(card, folder)
        return card
    copies.follow_move(card, folder)
    card.folder, card.state, card.settled_since = str(folder), Card.State.FOUND, None
    with transaction.atomic():
        card.save(update_fields=["folder", "state", "settled_since"])
        activity.to_card(card, by, "found", f" in another place: {folder}")
    return card


def _has_moved(card: Card) -> bool:
    """Whether the card's folder is not where it was, though the place where it was is there: its drive is not away."""
    folder = Path(card.folder)
    if folder.is_dir():
        return False
    own = card.copies.filter(folder=card.folder).select_related("medium").first()
    if own is None:
        return folder.parent.is_dir()
    try:
        return root_is_there(folder) and volume_above(folder).identity == own.medium.volume
    except OSError:
        return False


def _refuse_others_footage(folder: Path, production: Production) -> None:
    """A folder that is another production's card, or lies in a card or around one, is nobody's to take."""
    for name, other, code in Card.objects.values_list("name", "folder", "production__code"):
        other = Path(other)
        if (other == folder and code != production.code) or other in folder.parents or folder in other.parents:
            raise Refusal(f"{folder} belongs with the card {name}, which has been taken in already.", "folder")


def take_in_by(person: Person, folder: str | Path, production: Production) -> Card:
    """A person takes a folder in to their production and has it checked, unless its name says another one."""
    access.require(person, production, roles.CHECK_CARDS)
    folder = safe_folder(folder)
    named = production_for(folder)
    if named is not None and named != production:
        raise Refusal(
            f"{folder.name} is named as a card of another production; it is not {production.code}'s.", "folder"
        )
    card = take_in(folder, production, person)
    ask_to_read(folder, card, why=f"{person} asked for it")
    return card


def ask_to_read(folder: Path, card: Card, *, why: str) -> Job:
    """Have a folder that was taken in read through: the card's own is checked, another compared with the card."""
    if card.folder == str(folder):
        return ask_for_check(card, why=why)
    return copies.ask_for_proof(card.copies.filter(folder=str(folder)).last(), why=why)


def _new_card(folder: Path, production: Production, by: Person | None) -> Card:
    found = naming.read_or_nearest(folder.name)
    name = found[1] if found and found[0] == production else None
    for _ in range(20):  # somebody may take the reel between the look and the write
        taken = set(production.cards.values_list("reel", flat=True))
        try:
            with transaction.atomic():
                card = Card.objects.create(
                    production=production,
                    name=folder.name,
                    folder=str(folder),
                    reel=reel_for(folder.name, taken, production.name_rule),
                    shoot_date=name.shoot_date if name else None,
                    camera=name.camera if name else "",
                    number=name.number if name else None,
                )
                activity.to_card(card, by, "took in" if by else "found")
                return card
        except IntegrityError:
            if card := Card.objects.filter(production=production, name=folder.name).first():
                return card
    raise Refusal(f"no reel could be given to {folder.name}; try again", "folder")


def ask_for_check(card: Card, *, why: str) -> Job:
    return jobs.ask(Job.Kind.CHECK, card=card, why=why)


def check_by(person: Person, card: Card) -> Job:
    """A person asks for a card to be checked (again)."""
    access.require(person, card.production, roles.CHECK_CARDS)
    with transaction.atomic():
        activity.to_card(card, person, "asked for a check of")
        return ask_for_check(card, why=f"{person} asked for it")


def accept(card: Card, person: Person, reason: str) -> None:
    """A person trusts a held card, for a reason that stays on record."""
    access.require(person, card.production, roles.ACCEPT_CARDS)
    reason = reason.replace("\0", "").strip()
    if len(reason) < 3:
        raise Refusal("Say why this card may be trusted although it is held; the reason stays on record.", "reason")
    with transaction.atomic():
        Card.objects.select_for_update(no_key=True).get(id=card.id)
        card.refresh_from_db()
        if card.state != Card.State.HELD:
            raise Refusal(f"{card.name} is not held now, so there is nothing to accept; look at it again.")
        now = timezone.now()
        card.state, card.accepted_by, card.accepted_at, card.accepted_reason = Card.State.ACCEPTED, person, now, reason
        card.accepted_stops = card.stops
        card.save()
        card_checks.trust_as_it_is(card)
        activity.to_card(card, person, "accepted", f", although it is held: {reason}")
    proxying.ask_for_proxies(card, why=f"{person} accepted {card.name}")
