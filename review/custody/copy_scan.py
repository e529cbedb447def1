"""What the scan does with copies: are they here, are they as they were, and is it time to compare them?"""

from datetime import datetime, timedelta
from functools import partial
from pathlib import Path

from django.conf import settings
from django.db import transaction
from django.db.models import F
from django.utils import timezone

from review.cards.tree import CardUnreadable, read_tree
from review.crew import activity
from review.custody.copies import ask_for_proof, is_reachable
from review.custody.copy_proofs import note_absence
from review.models import Card, Copy

LOOKED_AT_ONCE = 20  # copies, and as many trusted cards: a scan of a thousand cards must not read a thousand folders


def look_at() -> None:
    """Of all copies that wait, and of those that were looked at longest ago: are they here, and as they were?"""
    others = Copy.objects.exclude(folder=F("card__folder")).select_related("card__production", "medium")
    waiting = list(others.filter(state=Copy.State.FOUND))
    rest = others.exclude(state=Copy.State.FOUND).order_by(F("looked_at").asc(nulls_first=True))
    for copy in [*waiting, *rest[:LOOKED_AT_ONCE]]:
        Copy.objects.filter(id=copy.id).update(looked_at=timezone.now())
        if not is_reachable(copy):
            note_absence(copy)
            continue
        if not copy.here:
            Copy.objects.filter(id=copy.id).update(here=True)
        _compare_when_settled(copy, Path(copy.folder))


def _compare_when_settled(copy: Copy, folder: Path) -> None:
    """A copy is compared when it is new or has changed, and holds still. One that has changed is in doubt at once."""
    try:
        fingerprint = read_tree(folder).fingerprint
    except CardUnreadable:
        return
    now = timezone.now()
    out_of_the_future(copy, now)
    changes = {}
    if fingerprint != copy.fingerprint:
        changes = {"fingerprint": fingerprint, "settled_since": now}
        if copy.state == Copy.State.SAME:
            changes |= {"state": Copy.State.FOUND, "checked_at": None}
    elif copy.settled_since is None:
        changes = {"settled_since": copy.checked_at or now}
    if changes:
        with transaction.atomic():
            Copy.objects.filter(id=copy.id).update(**changes)
            if "state" in changes:
                activity.to_card(copy.card, None, "doubted a copy of", f" on {copy.medium}: its folder has changed")
    elif (
        copy.card.trusted
        and (now - copy.settled_since).total_seconds() >= settings.SETTLE
        and (copy.checked_at is None or copy.settled_since > copy.checked_at)
    ):
        ask_for_proof(copy, why="its folder was found and has stopped changing")


def out_of_the_future(row: Card | Copy, now: datetime) -> None:
    """After the clock was set back, what it said before counts as a moment ago, in the order in which it was: nothing
    waits for the hour to come again, and nothing that changes now is taken for older than its last reading."""
    late = [name for name in ("settled_since", "checked_at") if (at := getattr(row, name)) and at > now]
    for ago, name in enumerate(sorted(late, key=partial(getattr, row), reverse=True), 1):
        setattr(row, name, now - timedelta(microseconds=ago))
    if late:
        row.save(update_fields=late)
