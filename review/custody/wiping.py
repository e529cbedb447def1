"""May a card be wiped? What is known of its copies, weighed by its production's own rule."""

from collections.abc import Iterable
from datetime import date, datetime

from django.db import transaction
from django.db.models import prefetch_related_objects
from django.utils import timezone

from review import roles
from review.cards import media_kinds
from review.cards.wiping import KnownCopy, WipeAnswer, WipeRule, may_wipe
from review.crew import access, activity
from review.custody import shelf
from review.models import Card, Copy, Person, Production
from review.refusals import Refusal

MOST = 9  # copies, devices


def rule_of(production: Production) -> WipeRule:
    return WipeRule(production.wipe_copies, production.wipe_devices, production.wipe_elsewhere)


def set_rule(person: Person, production: Production, rule: WipeRule) -> None:
    """The production's own rule for wiping cards. Raises Refusal for one that could not be met or asks for nothing."""
    access.require(person, production, roles.SET_RULES)
    if not 1 <= rule.copies <= MOST:
        raise Refusal(f"At least 1 proven copy, and at most {MOST}, can be asked for.", "copies")
    if not 1 <= rule.devices <= rule.copies:
        raise Refusal(f"{rule.copies} copies can be asked to be on 1 to {rule.copies} devices.", "devices")
    if not 0 <= rule.elsewhere <= rule.copies:
        raise Refusal(f"Of {rule.copies} copies 0 to {rule.copies} can be asked to be elsewhere.", "elsewhere")
    production.wipe_copies, production.wipe_devices = rule.copies, rule.devices
    production.wipe_elsewhere = rule.elsewhere
    with transaction.atomic():
        production.save(update_fields=["wipe_copies", "wipe_devices", "wipe_elsewhere"])
        words = f"the rule for wiping cards to: {rule}"
        activity.happened(production, person, "changed", words, activity.About.PRODUCTION, production.id)


def answer(card: Card, today: date | None = None) -> WipeAnswer:
    """What the card's page, the reports and the API say."""
    return answers([card], today)[card.id]


def answers(cards: Iterable[Card], today: date | None = None) -> dict[int, WipeAnswer]:
    """The answer for each card, by its id."""
    cards = list(cards)
    today = today or timezone.localdate()
    prefetch_related_objects(cards, "copies__medium", "production")
    return {card.id: _answer(card, today) for card in cards}


def _answer(card: Card, today: date) -> WipeAnswer:
    originals = [copy for copy in card.copies.all() if _is_original(copy)]
    kept = [c for c in card.copies.all() if not _is_original(c) and c.confirmed and c.medium.retired_at is None]
    return may_wipe(
        rule_of(card.production),
        state=_what_keeps(card),
        vouched=card.proof == Card.Proof.CHECKSUMS or any(copy.state == Copy.State.SAME for copy in originals),
        original_differs=any(copy.state == Copy.State.FAILED and copy.checked_at for copy in originals),
        copies=[_known(copy, today) for copy in kept if card.state == Card.State.VERIFIED or not _is_own(copy)],
    )


def _is_original(copy: Copy) -> bool:
    return copy.is_original or copy.medium.kind == media_kinds.ORIGINAL


def _is_own(copy: Copy) -> bool:
    """What ails the folder that is worked from is said by the card's own state."""
    return copy.folder == copy.card.folder


def _what_keeps(card: Card) -> list[str]:
    """Why the card itself is not trusted, in words that go after 'because'."""
    return {
        Card.State.FOUND: ["it has not been checked"],
        Card.State.CHECKING: ["it is being checked"],
        Card.State.HELD: ["it is held: what the check found comes first"],
        Card.State.ACCEPTED: ["a person accepted it although the check found something wrong"],
        Card.State.VERIFIED: ["its folder has changed since it was checked"] if _has_changed(card) else [],
    }[card.state]


def _has_changed(card: Card) -> bool:
    return bool(card.settled_since and card.checked_at and card.settled_since > card.checked_at)


def _known(copy: Copy, today: date) -> KnownCopy:
    due = shelf.next_check(copy)
    return KnownCopy(
        medium=copy.medium.label,
        device=copy.medium.volume,
        elsewhere=copy.medium.elsewhere,
        proven_at=_local(copy.proven_at) if copy.state == Copy.State.SAME else None,
        failed=copy.state == Copy.State.FAILED,
        overdue=due is not None and due < today,
        file_system=copy.file_system,
    )


def _local(moment: datetime | None) -> datetime | None:
    return timezone.localtime(moment) if moment else None
