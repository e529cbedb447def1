"""The same footage under another name: on another card of the production as well."""

from review.cards.checking import CardReport
from review.cards.findings import CAUTION, STOP, Finding
from review.cards.hashing import OWN_ALGORITHM
from review.models import Card, CardFile


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
