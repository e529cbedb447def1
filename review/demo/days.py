"""The demo's last days in the logging room: who sat down when, what was on their screens, and what was asked of whom.

Days are counted back from the one on which the demo is made, and times are those of its clock. A sitting is told in
slots of five minutes, as review.record.pace tells work; what was seen in it is spread evenly over them. The clips of
the demo are seconds long, so a slot holds a few seconds of footage: the paces are honest, and slow.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta

from review.demo.logbook import A1, A2, B1, C1, LONG, MARKS, NIGHT, Mark, frames_between

SLOT = timedelta(minutes=5)


@dataclass(frozen=True)
class When:
    """So many days before the demo is made, at a time of day (HH:MM)."""

    days_ago: int
    at: str

    def on(self, today: date) -> datetime:
        """Without a time zone."""
        return datetime.combine(today - timedelta(self.days_ago), time.fromisoformat(self.at))


@dataclass(frozen=True)
class Seen:
    """Frames [in_frame, out_frame) that were on the screen; `skimmed` when faster than twice speed, or muted."""

    card: str
    clip: str
    in_frame: int
    out_frame: int
    skimmed: bool = False


@dataclass(frozen=True)
class Sitting:
    """`slots` of five minutes in which a logger went through what is `seen`; `remark` is for whoever comes next."""

    logger: str
    begins: When
    slots: int
    seen: tuple[Seen, ...]
    remark: str = ""

    def slot_by_slot(self) -> Iterator[list[Seen]]:
        """What was on the screen in each slot."""
        whole = sum(each.out_frame - each.in_frame for each in self.seen)
        for slot in range(self.slots):
            yield self._part(whole * slot // self.slots, whole * (slot + 1) // self.slots)

    def _part(self, start: int, end: int) -> list[Seen]:
        """From the frame `start` of everything that is seen up to, not with, the frame `end`."""
        found, before = [], 0
        for each in self.seen:
            since, until = (min(max(at - before, 0), each.out_frame - each.in_frame) for at in (start, end))
            if since < until:
                found.append(replace(each, in_frame=each.in_frame + since, out_frame=each.in_frame + until))
            before += each.out_frame - each.in_frame
        return found


def marked_in(sitting: Sitting, part: list[Seen]) -> list[int]:
    """The places in MARKS of what a logger marked when the last frame of it was on the screen, in a part of a
    sitting."""
    return [at for at, mark in enumerate(MARKS) if mark.logger == sitting.logger and any(_ends(mark, s) for s in part)]


def _ends(mark: Mark, seen: Seen) -> bool:
    return (mark.card, mark.clip) == (seen.card, seen.clip) and seen.in_frame < mark.out_frame <= seen.out_frame


@dataclass(frozen=True)
class SecondLook:
    """Somebody asks that two people watch a clip."""

    asked_by: str
    when: When
    card: str
    clip: str
    why: str


@dataclass(frozen=True)
class Taken:
    """A logger takes a clip, and does not touch it again."""

    logger: str
    when: When
    card: str
    clip: str


@dataclass(frozen=True)
class Kept:
    """A select, by its place in MARKS, that somebody flagged as worth keeping, and what they said of it."""

    by: str
    when: When
    mark: int
    people: str
    rights: str


@dataclass(frozen=True)
class RoughCut:
    """A cut that came back `hours_ago`: the first so many events of the list of the best."""

    by: str
    hours_ago: float
    name: str
    events: int


@dataclass(frozen=True)
class HandedOut:
    """A split of cards that was accepted, so many `hours_ago`. `hours` are those of each logger."""

    by: str
    hours_ago: float
    cards: tuple[str, ...]
    hours: dict[str, float]


def _seen(clip: str, first: str, after: str, skimmed: bool = False) -> Seen:
    card_name, clip_name = clip.split("/")
    return Seen(card_name, clip_name, *frames_between(card_name, clip_name, first, after), skimmed)


SITTINGS = (
    Sitting("ilse", When(6, "09:10"), 9, (_seen(A1 + "A001C001", "07:58:00:00", "07:58:19:00"),)),
    Sitting("bram", When(6, "09:30"), 8, (_seen(A1 + "A001C002", "08:31:10:00", "08:31:28:00"),)),
    Sitting("ilse", When(5, "09:05"), 7, (_seen(C1 + "C0001", "07:58:05:00", "07:58:14:00"),)),
    Sitting("bram", When(5, "10:15"), 7, (_seen(B1 + "00000", "08:31:08:00", "08:31:22:00"),)),
    Sitting(
        "odd",
        When(5, "13:00"),
        9,
        (_seen(A1 + "A001C003", "08:52:30:00", "08:52:41:00"),),
        "his last words are not watched yet",
    ),
    Sitting(
        "ilse",
        When(4, "09:00"),
        8,
        (
            _seen(A2 + "A002C002", "16:05:00:00", "16:05:12:00"),
            _seen(A2 + "A002C002", "16:05:12:00", "16:05:16:00", skimmed=True),
        ),
    ),
    Sitting("odd", When(4, "13:20"), 5, (_seen(C1 + "C0002", "08:31:11:00", "08:31:23:00", skimmed=True),)),
    Sitting("ilse", When(3, "09:15"), 8, (_seen(A1 + "A001C002", "08:31:10:00", "08:31:28:00"),)),  # a second look
    Sitting("odd", When(3, "13:05"), 10, (_seen(A2 + "A002C001", "13:20:00:00", "13:20:12:00"),)),
    Sitting(
        "bram",
        When(3, "14:00"),
        9,
        (_seen(LONG, "09:40:35:00", "09:40:50:00"),),
        "the bay after him is only birds: it can be skimmed",
    ),
    Sitting("ilse", When(2, "09:00"), 6, (_seen(LONG, "09:40:49:00", "09:41:00:00", skimmed=True),)),
    Sitting("odd", When(2, "13:00"), 16, (_seen(LONG, "09:40:00:00", "09:40:33:00"),)),
    Sitting("ilse", When(1, "09:30"), 6, (_seen(LONG, "09:40:33:00", "09:40:35:00"),)),
    Sitting(
        "bram",
        When(1, "10:00"),
        10,
        (
            _seen(NIGHT + "A001C001", "19:59:57;00", "20:00:09;00"),
            _seen(NIGHT + "A001C002", "20:00:58;00", "20:01:08;00"),
        ),
    ),
)
NOTES_TAKEN = When(6, "08:40")
SECOND_LOOKS = (
    SecondLook("sunniva", When(5, "17:10"), A1[:-1], "A001C002", "the haul opens the film; does nothing escape us?"),
    SecondLook("peder", When(1, "16:20"), A1[:-1], "A001C003", "what he says of the water decides the ending"),
)
LEFT_ALONE = (Taken("odd", When(3, "16:00"), LONG.split("/")[0], "A003C002"),)
HANDED_OUT = HandedOut(
    "peder",
    2.5,
    ("KB04-261112-B01", "KB04-261113-B01", "KB04-261113-S01"),
    {"ilse": 6, "bram": 6, "odd": 4},
)
KEPT = Kept("ilse", When(1, "16:45"), 0, "none", "Ours; the harbour office agreed to pictures of the bay.")
BEST_PULLED = When(1, "17:00")
ROUGH_CUT = RoughCut("sunniva", 2, "Rough cut 1", 3)
