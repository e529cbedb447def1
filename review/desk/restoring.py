"""The restore list: which files must come back from the shelf so that a cut can be conformed, and from where.

For every recording that is used: the files that hold the used frames and their handles, the rest of its files (a
recording that spans several only relinks whole), the sound that ran beside it, and its sidecars. Events whose footage
nobody knows are named with it, because what they need is not.
"""

import re
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import chain
from math import ceil

from review import frames
from review.desk import usage
from review.exports import ExportFile
from review.models import Card, CardFile, Clip, Copy, Cut, CutEvent, Medium, Production
from review.refusals import Refusal
from review.tables import table

LONGEST_HANDLES = 600  # seconds

_HANDLES = re.compile(r"[0-9]{1,3}(\.[0-9]{1,3})?")

FRAMES, REST, SOUND, SIDECAR = "holds the frames", "rest of the recording", "sound beside it", "sidecar"


@dataclass
class RestoreFile:
    path: str  # below the card folder
    what: str
    clips: list[str] = field(default_factory=list)
    events: list[CutEvent] = field(default_factory=list)  # that use a frame of these
    size: int | None = None  # bytes; None where no check has seen it
    here: bool = True  # on the card, when it was last checked

    @property
    def how_sure(self) -> str:
        """Of the least sure event that needs it."""
        return max(self.events, key=lambda event: (_is_likely(event), bool(event.chosen_by))).how_sure

    @property
    def numbers(self) -> str:
        """Of its events, as written in the list, with those that are only likely marked."""
        return ", ".join(dict.fromkeys(f"{e.number} (likely)" if _is_likely(e) else e.number for e in self.events))


@dataclass
class RestoreCard:
    card: Card
    files: list[RestoreFile] = field(default_factory=list)
    spans: list[tuple[Clip, frames.FrameRange]] = field(default_factory=list)  # with handles
    copies: list[Copy] = field(default_factory=list)

    @property
    def size(self) -> int:
        """Bytes of the files, as far as they are known."""
        return sum(file.size or 0 for file in self.files)

    @property
    def unknown(self) -> int:
        return sum(file.size is None for file in self.files)


@dataclass
class RestorePlace:
    """What one medium could give."""

    medium: Medium
    copies: list[Copy] = field(default_factory=list)
    size: int = 0  # bytes of the files
    whole: int = 0  # bytes of the whole cards

    @property
    def proven(self) -> int:
        return sum(copy.state == Copy.State.SAME for copy in self.copies)

    @property
    def here(self) -> bool:
        return any(copy.here for copy in self.copies)


@dataclass
class RestoreList:
    title: str
    handles: Fraction  # seconds on each side
    cards: list[RestoreCard]
    places: list[RestorePlace]
    missing: list[CutEvent]  # what they need is not in it

    @property
    def size(self) -> int:
        return sum(each.size for each in self.cards)

    @property
    def whole(self) -> int:
        return sum(each.card.total_bytes for each in self.cards)

    @property
    def files(self) -> int:
        return sum(len(each.files) for each in self.cards)

    @property
    def nowhere(self) -> list[Card]:
        """Cards of which no copy is proven on any medium."""
        return [each.card for each in self.cards if not any(copy.state == Copy.State.SAME for copy in each.copies)]


def parse_handles(text: str) -> Fraction:
    """Seconds, such as '2' or '0.5'. Raises Refusal."""
    if not _HANDLES.fullmatch(text.strip() or "0"):
        raise Refusal(f"Handles are seconds, from 0 to {LONGEST_HANDLES}, such as 2 or 0.5.", "handles")
    seconds = Fraction(text.strip() or 0)
    if seconds > LONGEST_HANDLES:
        raise Refusal(f"{LONGEST_HANDLES} seconds of handles are the most; for more, restore whole cards.", "handles")
    return seconds


def restore_list(production: Production, cut: Cut | None = None, handles: Fraction = Fraction(0)) -> RestoreList:
    """For one cut, or for all of them. Events that are only likely are in it."""
    events = usage.events_of(production, cut).order_by()
    used = usage.used_ranges(events)
    of_clip: dict[int, list[CutEvent]] = {}
    for event in events.order_by("cut", "place").iterator():
        of_clip.setdefault(event.clip_id, []).append(event)
    clips = Clip.objects.filter(id__in=events.values("clip")).defer("probe", "filmstrip")
    owners = production.cards.filter(id__in=events.values("clip__card"))
    cards = {card.id: RestoreCard(card) for card in owners}
    wanted: dict[int, dict[str, RestoreFile]] = {}
    for clip in clips.order_by("card", "start_frame", "name"):
        spans = _with_handles(clip, used[clip.id], handles)
        cards[clip.card_id].spans += [(clip, span) for span in spans]
        files = wanted.setdefault(clip.card_id, {})
        for path, what in _files(clip, spans):
            file = files.setdefault(path, RestoreFile(path, what))
            file.what = FRAMES if FRAMES in (file.what, what) else file.what
            if clip.name not in file.clips:
                file.clips.append(clip.name)
            file.events += of_clip[clip.id]
    known = CardFile.objects.filter(card__in=list(wanted)).values_list("card", "path", "size", "here")
    for card_id, path, size, here in known.iterator():
        if file := wanted[card_id].get(path):
            file.size, file.here = size, here
    for card_id, files in wanted.items():
        cards[card_id].files = list(files.values())
    found = [each for each in cards.values() if each.files]
    title = cut.name if cut else f"all cuts of {production.code}"
    return RestoreList(title, handles, found, _places(found), list(usage.events_not_found(production, cut)))


def _with_handles(clip: Clip, ranges, handles: Fraction) -> list[frames.FrameRange]:
    more = ceil(handles * clip.timebase.rate.fraction)
    wider = frames.union((max(0, start - more), end + more) for start, end in ranges)
    return frames.intersect(wider, [(0, clip.frames)])


def _files(clip: Clip, spans: list[frames.FrameRange]) -> list[tuple[str, str]]:
    if not spans:
        return []
    held = {path for span in spans for path in clip.files_of(*span)[0]}
    beside = [path for paths in clip.sound_files for path in paths]
    return [
        *((path, FRAMES if path in held else REST) for path in clip.files),
        *((path, SOUND) for path in beside),
        *((path, SIDECAR) for path in clip.sidecars),
    ]


def _is_likely(event: CutEvent) -> bool:
    return event.sure == CutEvent.Sure.LIKELY


def _places(cards: list[RestoreCard]) -> list[RestorePlace]:
    by_card = {each.card.id: each for each in cards}
    copies = Copy.objects.filter(card__in=list(by_card), confirmed=True, medium__retired_at=None)
    places: dict[int, RestorePlace] = {}
    best: dict[tuple[int, int], Copy] = {}
    for copy in sorted(copies.select_related("medium", "card"), key=_worth, reverse=True):
        best.setdefault((copy.medium_id, copy.card_id), copy)  # of several on one medium, one is fetched
    for copy in sorted(best.values(), key=lambda copy: (copy.medium.label, copy.medium_id, copy.card_id)):
        needed = by_card[copy.card_id]
        needed.copies.append(copy)
        place = places.setdefault(copy.medium_id, RestorePlace(copy.medium))
        place.copies.append(copy)
        place.size += needed.size
        place.whole += needed.card.total_bytes
    return list(places.values())


def _worth(copy: Copy) -> tuple[bool, bool, int]:
    return copy.state == Copy.State.SAME, copy.here, -copy.id


COLUMNS = (
    *("card", "reel", "file", "bytes", "what for", "clips", "copies", "proven copies"),
    *("events", "least sure event"),  # the numbers of those that need the file, and how sure it is at least
)


def csv_of(restore: RestoreList) -> ExportFile:
    """A row for each file; before them, one without a card for each event that nothing in the list is for."""
    missing = (
        (
            *("", event.reel, "", "", f"NOT IN THIS LIST: {event.why}", event.clip_name, "", ""),
            *(f"{event.number} (line {event.line})", event.how_sure),
        )
        for event in restore.missing
    )
    files = (
        (
            each.card.name,
            each.card.reel,
            file.path,
            "not known" if file.size is None else file.size,
            file.what,
            ", ".join(file.clips),
            "; ".join(_place_words(copy) for copy in each.copies),
            sum(copy.state == Copy.State.SAME for copy in each.copies),
            file.numbers,
            file.how_sure,
        )
        for each in restore.cards
        for file in each.files
    )
    return table(f"restore list - {restore.title}", COLUMNS, chain(missing, files))


def _place_words(copy: Copy) -> str:
    where = f"{copy.medium.label} ({copy.medium.place})" if copy.medium.place else copy.medium.label
    proven = f"proven {copy.proven_at:%Y-%m-%d}" if copy.proven_at else "not proven"
    return f"{where}, {proven}, {'connected' if copy.here else 'not connected'}"
