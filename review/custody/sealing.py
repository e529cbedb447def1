"""Sealing a card: on request only, a new generation in its ASC MHL history that vouches for what is there now.

Every byte is read once more and compared with what was trusted; nothing is vouched for that differs. Only `ascmhl/`
folders are written (design law 1).
"""

import os
from collections.abc import Callable
from pathlib import Path

from django.conf import settings
from django.db import transaction
from django.utils import timezone

from review import roles
from review.cards.checking import CardReport, check_card
from review.cards.findings import NOTE
from review.cards.hashing import OWN_ALGORITHM
from review.cards.manifests.ascmhl_writer import histories_to_append, write_generation
from review.cards.manifests.ascmhl_xml import HASH_ORDER
from review.cards.tree import HISTORY_FOLDER, CardUnreadable
from review.crew import access, activity
from review.custody import card_checks
from review.custody.roots import safe_folder
from review.models import Card, Person
from review.refusals import Refusal

VERSION = "0.1.0"  # of the program, as manifests name it

# Findings that say of bytes, or of what vouches for them, that they are not what was trusted. Whatever else a person
# has accepted (a name, a list that is damaged, a sidecar that never was) is no matter of the seal.
_DIFFERS = frozenset(
    {"altered", "missing", "unreadable", "lists-disagree", "manifest-altered", "changed-meanwhile"}
) | {
    "altered-since",
    "mended-since",
    "gone-since",
    "added-since",
    "renamed-since",
}
_SHOWN = 3


def seal(person: Person, card: Card, *, reason: str = "", progress: Callable[[int, int], None] | None = None) -> Path:
    """Seal a card here and now, for a person; returns the manifest that was written.

    It takes as long as a check: `progress` gets (bytes read, bytes in all). `reason` goes into the manifest as its
    comment. Raises Refusal, with nothing written, for a card that nobody trusts, that is not what it was when it was
    trusted, or whose folder or history cannot be written.
    """
    access.require(person, card.production, roles.SEAL_CARDS)
    if not card.trusted:
        raise Refusal(
            f"{card.name} is {card.state}: only a card that was verified or accepted can be sealed. Check it first."
        )
    folder = safe_folder(card.folder)
    _refuse_read_only(folder)
    started = timezone.now()
    try:
        algorithms = _algorithms(folder)
        report = check_card(
            folder,
            production=card.production.code,
            name_rule=card.production.name_rule,
            probe=lambda path: path,  # the bytes are what is sealed; the card's check looked at the footage
            earlier=card_checks.when_trusted(card),
            progress=progress,
            bytes_per_second=settings.CHECK_RATE * 1_000_000,
            also=algorithms,
        )
        _refuse_what_differs(card, report)
        path = write_generation(
            folder,
            {
                file.path: {name: each for name, each in file.hashes.items() if name in HASH_ORDER}
                for file in report.files
            },
            {file.path: file.size for file in report.files},
            tool_version=VERSION,
            started=started,
            author=str(person),
            comment=reason,
        )
    except (CardUnreadable, ValueError) as problem:  # CannotWrite, and what the format cannot hold
        raise Refusal(f"{card.name} was not sealed: {problem}") from None
    except OSError as problem:
        raise Refusal(
            f"{card.name} was not sealed: {HISTORY_FOLDER} cannot be written in {folder} ({problem.strerror}). "
            "What was there is unchanged."
        ) from None
    card.sealed_by, card.sealed_at = person, timezone.now()
    with transaction.atomic():
        card.save(update_fields=["sealed_by", "sealed_at"])
        activity.to_card(card, person, "sealed", f": {path.name}")
    return path


def _refuse_read_only(folder: Path) -> None:
    if os.statvfs(folder).f_flag & os.ST_RDONLY:
        raise Refusal(
            f"{folder} is on a volume that can only be read (its switch, or how it was connected): connect it for "
            "writing, or seal another copy of the card."
        )
    if not os.access(folder, os.W_OK):
        raise Refusal(f"{folder} may not be written by this program's account: ask whoever keeps the disk.")


def _algorithms(folder: Path) -> set[str]:
    """What each file is to be hashed with: our own, and one that each history of the card has. Raises CannotWrite."""
    algorithms = {OWN_ALGORITHM}
    for history in histories_to_append(folder).values():
        for vouched in history.generations[-1:]:
            algorithms.update(name for file in vouched.generation.files for name in file.hashes)
    return algorithms


def _refuse_what_differs(card: Card, report: CardReport) -> None:
    """Nothing is sealed that is not what was trusted."""
    differs = [finding.what for finding in report.findings if finding.code in _DIFFERS and finding.severity != NOTE]
    if differs:
        more = f" And {len(differs) - _SHOWN:,} more." if len(differs) > _SHOWN else ""
        raise Refusal(
            f"{card.name} was not sealed, because it is not as it was trusted. {' '.join(differs[:_SHOWN])}{more} "
            "Check the card again first."
        )
