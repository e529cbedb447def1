"""Which card, clip and frames an event of a cut list means, how sure that is, and what is nearest where nothing is.

    reel         of a card, or a card folder's own name                                     sure
    cut reel     the beginning of a card folder's, a clip's or a file's name                likely
    near reel    one character off                                                          likely
    name         a clip's or a file's, where the reel is no help                            likely

Each only counts where the event's timecode lies inside the clip. A doubt about the frames makes sure into likely.
"""

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import islice

from review.cuts.events import Event
from review.cuts.inside import Hit, Use
from review.cuts.known import Clips, KnownClip, forms
from review.cuts.ranges import counts_past
from review.cuts.reels import Near, plain, spellings
from review.timecode import Timebase

SURE, LIKELY, LOST, NONE = "sure", "likely", "lost", "none"

_NO_FOOTAGE = {"BL": "black", "BLACK": "black", "BARS": "bars"}
_NO_HELP = {"", "AX"}  # AX: an auxiliary source; its timecode and its clip's name are all there is
_SHORTEST_CUT = 6  # characters of a reel that was cut short: many names begin with less


@dataclass(frozen=True)
class Found:
    """[in_frame, out_frame) are frames of the clip. `why` says what it was found by, or why it was not."""

    sure: str
    why: str
    clip: KnownClip | None = None
    in_frame: int | None = None
    out_frame: int | None = None
    nearest: tuple[dict, ...] = ()  # {"clip": its id, "words": for people}


class Footage:
    """The clips of a production, and how the list that is looked for in them counts."""

    def __init__(self, clips: Sequence[KnownClip], listed: Timebase):
        self._listed = listed
        self._all = Clips(clips)
        self._by_reel = _grouped((plain(clip.reel), clip) for clip in clips)
        self._by_card = _grouped((name, clip) for clip in clips for name in {*spellings(clip.card)})
        self._by_name = _grouped((name, clip) for clip in clips for name in clip.names)
        self._near = Near({*self._by_reel, *self._by_card})
        self._names = sorted({*self._by_card, *self._by_name})
        self._own_count: set[str] = set()  # reels whose labels count past the list's own seconds
        self._of_reel: dict[str, Clips] = {}
        self._begun: dict[str, Clips] = {}

    def find(self, events: Iterable[Event]) -> list[Found]:
        events = list(events)
        for event in events:
            if any(counts_past(label, self._listed) for label in (event.source_in, event.source_out)):
                self._own_count.add(plain(event.reel))
        return [self._find(event) for event in events]

    def _find(self, event: Event) -> Found:
        reel = plain(event.reel)
        if reel in _NO_FOOTAGE:
            return Found(NONE, f"{_NO_FOOTAGE[reel]}, no footage")
        use = Use(event, self._listed, reel in self._own_count)
        if use.nothing:
            return self._without_length(event)
        of_reel = self._with_reel(reel)
        guess = not of_reel and reel not in _NO_HELP
        tries = (
            (of_reel, SURE, f"reel {event.reel}"),
            (self._by_card.get(plain(event.card), Clips()), SURE, f"the card {event.card}, which a comment names"),
            (self._beginning(reel) if guess else Clips(), LIKELY, f"reel {event.reel}, which its name begins with"),
            (self._one_off(reel) if guess else Clips(), LIKELY, f"reel {event.reel}, one character off"),
            (self._named(event)[1], LIKELY, "its name"),
        )
        for clips, sure, by in tries:
            if hits := list(islice(use.hits(clips), 200)):
                return self._chosen(event, hits, sure, by, another=bool(of_reel) and clips is not of_reel)
        return self._lost(event, use, of_reel)

    def _with_reel(self, reel: str) -> Clips:
        if reel not in self._of_reel:
            both = (*self._by_reel.get(reel, ()), *self._by_card.get(reel, ()))
            self._of_reel[reel] = Clips(dict.fromkeys(both))
        return self._of_reel[reel]

    def _one_off(self, reel: str) -> Clips:
        return Clips(clip for near in self._near.of(reel) for clip in self._with_reel(near))

    def _beginning(self, reel: str) -> Clips:
        """The clips of names that were cut short to `reel`."""
        if reel not in self._begun:
            found: dict[KnownClip, None] = {}
            for name in self._names[bisect_left(self._names, reel) :]:
                if len(reel) < _SHORTEST_CUT or not name.startswith(reel):
                    break
                found |= dict.fromkeys((*self._by_card.get(name, ()), *self._by_name.get(name, ())))
            self._begun[reel] = Clips(found)
        return self._begun[reel]

    def _named(self, event: Event) -> tuple[str, Clips]:
        """The first of the event's names that clips have, and these: a reel may be a clip's or a file's name."""
        for name in (event.file, event.clip_name, event.reel):
            for form in forms(name):
                if clips := self._by_name.get(form):
                    return form, clips
        return "", Clips()

    def _chosen(self, event: Event, hits: list[Hit], sure: str, by: str, another: bool) -> Found:
        name, _ = self._named(event)
        hits.sort(
            key=lambda hit: (name not in hit.clip.names, not hit.whole, len(hit.doubts), hit.clip.card, hit.clip.start)
        )
        best, *others = hits
        agrees = name in best.clip.names
        rivals = [hit for hit in others if (name in hit.clip.names, hit.whole) == (agrees, best.whole)]
        doubts = []
        if rivals:
            doubts.append(f"{len(rivals) + 1} clips hold this timecode, and the first was taken")
        if another:
            doubts.append(f"reel {event.reel} is of another card, which has no such timecode")
        if name and not agrees:
            doubts.append("the list names another clip, which has no such timecode")
        doubts += best.doubts
        nearest = tuple(_candidate(hit.clip, "holds this timecode too") for hit in others[:3])
        why = "; ".join((f"found by {by}", *doubts))
        return Found(LIKELY if doubts else sure, why, best.clip, best.in_frame, best.out_frame, nearest)

    def _without_length(self, event: Event) -> Found:
        if event.record_in == event.record_out:
            return Found(NONE, "it has no length: no frame of it is in the cut")
        nearest = tuple(_candidate(clip, "same name") for clip in self._named(event)[1][:3])
        return Found(LOST, "its source in and out are the same, so the list does not say which frames", nearest=nearest)

    def _lost(self, event: Event, use: Use, of_reel: Clips) -> Found:
        if of_reel:
            why = f"no clip on {of_reel[0].card} (reel {event.reel}) has this timecode"
        else:
            unhelpful = plain(event.reel) in _NO_HELP
            said = "the list gives no reel" if unhelpful else f"reel {event.reel} is no card's"
            name = event.clip_name or event.file
            why = f"{said}, and " + (f"no clip named {name} has this timecode" if name else "the list names no clip")
        nearest = [_candidate(clip, f"same reel; {_away(far, clip)}") for far, clip in use.nearest(of_reel)[:2]]
        nearest += [
            _candidate(clip, f"same name; holds {clip.label(0)} to {clip.label(clip.frames)}")
            for clip in self._named(event)[1][:2]
        ]
        if not nearest:
            nearest += [_candidate(hit.clip, "holds this timecode") for hit in islice(use.hits(self._all), 2)]
            for like in self._near.like(plain(event.reel)):
                clip = self._with_reel(like)[0]
                nearest.append({"clip": None, "words": f"{clip.card}: its reel {clip.reel} is written like it"})
        once: dict = {}
        for each in nearest:
            once.setdefault(each["clip"] or each["words"], each)
        return Found(LOST, why, nearest=tuple(once.values())[:4])


def _grouped(pairs: Iterable[tuple[str, KnownClip]]) -> dict[str, Clips]:
    groups: dict[str, list[KnownClip]] = defaultdict(list)
    for key, clip in pairs:
        if key:
            groups[key].append(clip)
    return {key: Clips(clips) for key, clips in groups.items()}


def _candidate(clip: KnownClip, words: str) -> dict:
    return {"clip": clip.id, "words": f"{clip.card} {clip.name}: {words}"}


def _away(frames: int, clip: KnownClip) -> str:
    seconds = float(clip.timebase.rate.seconds(frames))
    return f"{seconds:,.1f} s away (it holds {clip.label(0)} to {clip.label(clip.frames)})"
