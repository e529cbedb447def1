"""May this card be wiped? By the production's own rule, from copies that were read and were the same.

Rushlight never wipes anything, and its answer is no permission: the production's own policy and people decide.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

UNVOUCHED = "nothing made from the camera's own card proves the copies"
CAUTION = (
    "Your production's own policy and people decide whether a card is wiped; Rushlight never wipes anything and has "
    "only counted copies."
)


@dataclass(frozen=True)
class WipeRule:
    """How many proven copies, on how many devices, and how many of the copies at another place."""

    copies: int = 3
    devices: int = 2
    elsewhere: int = 1

    def __str__(self) -> str:
        words = f"{_some(self.copies, 'proven copy', 'proven copies')} on at least {_some(self.devices, 'device')}"
        return f"{words}, {self.elsewhere} of them elsewhere" if self.elsewhere else words


@dataclass(frozen=True)
class KnownCopy:
    """A copy as it is known now. `proven_at` is None if it never was the same; `failed` if it was not, last time."""

    medium: str  # for people
    device: str  # two copies on one device have the same
    elsewhere: bool
    proven_at: datetime | None
    failed: bool = False
    overdue: bool = False  # it was to be proven again by now
    file_system: str = ""  # that it was on when it was last read; '' if that is not known


@dataclass(frozen=True)
class WipeAnswer:
    may: bool
    reasons: tuple[str, ...]  # why not
    counted: tuple[KnownCopy, ...]  # the copies that count, those proven last first
    failed: tuple[KnownCopy, ...]
    rule: WipeRule

    @property
    def brief(self) -> str:
        """The answer in a few words, for a list of cards."""
        if self.may:
            return "your rule for wiping is met"
        if self.failed:
            return f"not to be wiped: a copy went bad ({self.failed[0].medium})"
        if len(self.counted) < self.rule.copies:
            return f"not to be wiped: {len(self.counted)} of {self.rule.copies} copies"
        return f"not to be wiped: {self.reasons[0]}"

    @property
    def line(self) -> str:
        """The answer in one line."""
        if not self.may:
            hint = " Compare a copy with the camera's own card in a reader." if UNVOUCHED in self.reasons else ""
            return f"Not yet, because {'; '.join(self.reasons)}.{hint}"
        proofs = ", ".join(f"{copy.medium} ({copy.proven_at:%-d %b %Y %H:%M})" for copy in self.counted)
        late = " Some of these proofs are older than they should be." if any(c.overdue for c in self.counted) else ""
        return f"Yes by this production's rule ({self.rule}), as proven on {proofs}.{late}{self._one_file_system()}"

    def _one_file_system(self) -> str:
        """Media that were on one file system when they were read are perhaps one drive with two names."""
        by_system: dict[str, set[str]] = {}
        for copy in self.counted:
            if copy.file_system:
                by_system.setdefault(copy.file_system, set()).add(copy.medium)
        together = next((sorted(media) for media in by_system.values() if len(media) > 1), None)
        if not together:
            return ""
        return (
            f" Careful: {' and '.join(together)} were on one file system when they were read; make sure they are apart."
        )


def may_wipe(
    rule: WipeRule, *, state: Sequence[str], vouched: bool, original_differs: bool, copies: Sequence[KnownCopy]
) -> WipeAnswer:
    """Weigh what is known of a card.

    `state` says in words what keeps the card itself from being trusted; it is empty for a verified card. `vouched` is
    whether anything made from the camera's own card (its checksums, or the card itself in a reader) agreed with the
    copies: copies that only agree with each other may all lack the same clip. `copies` are those in use, without the
    camera's own card.
    """
    reasons = list(state)
    if original_differs:
        reasons.append("the camera's card holds something else than the copies")
    if not vouched and not reasons:
        reasons.append(UNVOUCHED)
    failed = [copy for copy in copies if copy.failed]
    for copy in failed:
        reasons.append(f"the copy on {copy.medium} is not the same as the card, or is gone")
    counted = sorted((c for c in copies if c.proven_at and not c.failed), key=lambda c: c.proven_at, reverse=True)
    if len(counted) < rule.copies:
        reasons.append(f"{_some(len(counted), 'copy is', 'copies are')} proven of {rule.copies}")
    devices = len({copy.device for copy in counted})
    if devices < rule.devices and (len(counted) >= rule.copies or devices < len(counted)):
        reasons.append(f"they are on {_some(devices, 'device')}, not {rule.devices}")
    elsewhere = sum(copy.elsewhere for copy in counted)
    if elsewhere < rule.elsewhere:
        kept = "none is" if not elsewhere else f"only {elsewhere} is"
        reasons.append(f"{kept} kept elsewhere")
    return WipeAnswer(not reasons, tuple(reasons), tuple(counted), tuple(failed), rule)


def _some(count: int, one: str, many: str = "") -> str:
    return f"{count} {one if count == 1 else many or one + 's'}"
