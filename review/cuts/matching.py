"""Which card, clip and frames an event of a cut list means, how sure that is, and what is nearest where nothing is.

    reel         of a card, or a card folder's own name                                     sure
    card         that a comment names; likely where the list's reel is unknown              sure
    cut reel     the beginning of a card folder's, a clip's or a file's name                likely
    near reel    one character off                                                          likely
    name         a clip's or a file's, where the reel is no help                            likely

Each only counts where the event's timecode lies inside the clip. A doubt about the frames makes sure into likely. What
a person chose goes before all of it.
"""

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import islice

from review.cuts.events import Event
from review.cuts.inside import Hit, Use
from review.cuts.known import Clips, KnownClip, forms
from review.cuts.ranges import counts_past, fault_of
from review.cuts.reels import Near, plain, spellings
from review.timecode import Timebase

SURE, LIKELY, LOST, NONE = "sure", "likely", "lost", "none"

_NO_FOOTAGE = {"BL": "black", "BLACK": "black", "BARS": "bars"}
_NO_HELP = {"", "AX"}  # AX: an auxiliary source; its timecode and its clip's name are all there is
_SHORTEST_CUT = 6  # characters of a reel that was cut short: many names begin with less
_MOST_HITS = 500  # clips that are looked at for one event
_SHOWN = 4  # of those that it may be


@dataclass(frozen=True)
class Choice:
    """A person's word for which clip an event is of."""

    clip_id: int
    by: str


@dataclass(frozen=True)
class Found:
    """[in_frame, out_frame) are frames of the clip. `why` says what it was found by, or why it was not."""

    sure: str
    why: str
    clip: KnownClip | None = None
    in_frame: int | None = None
    out_frame: int | None = None
    nearest: tuple[dict, ...] = ()  # what else it may be; see `_candidate`
    choice: Choice | None = None


class Footage:
    """The clips of a production, and how the list that is looked for in them counts."""

    def __init__(self, clips: Sequence[KnownClip], listed: Timebase):
        self._listed = listed
        self._all = Clips(clips)
        self._by_id = {clip.id: clip for clip in clips}
        self._by_reel = _grouped((plain(clip.reel), clip) for clip in clips)
        self._by_card = _grouped((name, clip) for clip in clips for name in {*spellings(clip.card)})
        self._by_name = _grouped((name, clip) for clip in clips for name in clip.names)
        self._near = Near({*self._by_reel, *self._by_card})
        self._names = sorted({*self._by_card, *self._by_name})
        self._own_count: set[str] = set()  # reels whose labels count past the list's own seconds
        self._of_reel: dict[str, Clips] = {}
        self._begun: dict[str, Clips] = {}

    def find(self, events: Iterable[Event], choices: Mapping[int, Choice] | None = None) -> list[Found]:
        """In the order of the events. `choices` are by the event's line of the file."""
        events, choices = list(events), choices or {}
        self._learn(events)
        return [self._find(event, choices.get(event.line)) for event in events]

    def find_one(self, events: Iterable[Event], line: int, choice: Choice | None = None) -> Found:
        """The event of a line of the file, among all events of its list."""
        events = list(events)
        self._learn(events)
        return self._find(next(event for event in events if event.line == line), choice)

    def _learn(self, events: list[Event]) -> None:
        """How the sources' labels count, which one event may tell of others of its reel."""
        self._own_count |= {plain(event.reel) for event in events if self._counts_past(event)}

    def _counts_past(self, event: Event) -> bool:
        labels = () if event.unread else (event.source_in, event.source_out)
        return any(counts_past(label, self._listed) for label in labels)

    def _find(self, event: Event, choice: Choice | None) -> Found:
        reel = plain(event.reel)
        if event.unread:
            return self._unread(event)
        if reel in _NO_FOOTAGE:
            return Found(NONE, f"{_NO_FOOTAGE[reel]}, no footage")
        uses = [Use(event, self._listed, reel in self._own_count)]
        if uses[0].nothing:
            return self._without_length(event)
        if self._counts_past(event):
            uses.append(Use(event, self._listed, own_count=True, lenient=True))
        found = next(filter(None, (self._by_any(event, use) for use in uses)), None) or self._lost(event, uses[0])
        return self._as_chosen(found, choice, uses) if choice else found

    def _by_any(self, event: Event, use: Use) -> Found | None:
        reel = plain(event.reel)
        of_reel = self._with_reel(reel)
        guess = not of_reel and reel not in _NO_HELP
        tries: tuple[tuple[Clips, str, Callable[[KnownClip], str]], ...] = (
            (of_reel, SURE, lambda _: f"reel {event.reel}"),
            (
                self._by_card.get(plain(event.card), Clips()),
                SURE,
                lambda _: f"the comment that names card {event.card}",
            ),
            (self._beginning(reel) if guess else Clips(), LIKELY, lambda clip: _beginning_of(event.reel, clip)),
            (self._one_off(reel) if guess else Clips(), LIKELY, lambda _: f"reel {event.reel}, one character off"),
            (self._named(event)[1], LIKELY, lambda _: "its name"),
        )
        for clips, sure, by in tries:
            if hits := list(islice(use.hits(clips), _MOST_HITS)):
                return self._best(event, hits, sure, by, another=bool(of_reel) and clips is not of_reel)
        return None

    def _as_chosen(self, found: Found, choice: Choice, uses: list[Use]) -> Found:
        clip = self._by_id.get(choice.clip_id)
        hit = clip and next((hit for use in uses for hit in use.hits(Clips([clip]))), None)
        if not hit:
            chosen = f"{clip.card} {clip.name}, which does not hold this timecode" if clip else "a clip that is gone"
            return replace(found, why=f"{found.why}; {choice.by} had chosen {chosen}")
        why = "; ".join((f"chosen by {choice.by}", *hit.doubts))
        others = [each for each in found.nearest if each["clip"] != clip.id]
        if found.clip and found.clip != clip:
            others.insert(0, _candidate(found.clip, found.why, found.in_frame))
        return Found(SURE, why, clip, hit.in_frame, hit.out_frame, tuple(others), choice)

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

    def _best(self, event: Event, hits: list[Hit], sure: str, by: Callable[[KnownClip], str], another: bool) -> Found:
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
        elif self._unknown(event.reel, best.clip):
            doubts.append(f"reel {event.reel} is not known here")
        if name and not agrees:
            doubts.append("the list names another clip, which has no such timecode")
        doubts += best.doubts
        says = [f"found by {by(best.clip)}"]
        if event.tail:
            says.append(f"it runs on for {event.tail} frames under the dissolve or wipe that follows")
        nearest = tuple(_holding(others, " too"))
        return Found(
            LIKELY if doubts else sure, "; ".join(says + doubts), best.clip, best.in_frame, best.out_frame, nearest
        )

    def _unknown(self, written: str, clip: KnownClip) -> bool:
        """Whether a reel is no card's, and neither what was made of a name of this clip's."""
        reel = plain(written)
        known = reel in _NO_HELP or reel in clip.names or self._with_reel(reel)
        return not known and clip not in self._one_off(reel) and clip not in self._beginning(reel)

    def _without_length(self, event: Event) -> Found:
        if event.record_in == event.record_out:
            return Found(NONE, "it has no length: no frame of it is in the cut")
        nearest = tuple(_candidate(clip, "same name") for clip in self._named(event)[1][:_SHOWN])
        return Found(LOST, "its source in and out are the same, so the list does not say which frames", nearest=nearest)

    def _unread(self, event: Event) -> Found:
        nearest = [_candidate(clip, "same name") for clip in self._named(event)[1][:_SHOWN]]
        if of_reel := self._with_reel(plain(event.reel)):
            nearest.append({"clip": None, "words": f"{of_reel[0].card}: the card of its reel"})
        why = f"its line has not the four timecodes of an event: “{event.unread}”"
        return Found(LOST, why, nearest=tuple(nearest))

    def _lost(self, event: Event, use: Use) -> Found:
        of_reel = self._with_reel(plain(event.reel))
        counted = (of_reel or self._all).timebases
        if counted and not any(map(use.of, counted)):
            why = f"its timecode is wrong: {fault_of(event, counted[0]) or fault_of(event, self._listed)}"
        elif of_reel:
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
        if not nearest and not of_reel:
            nearest = self._strangers(event, use)
        once: dict = {}
        for each in nearest:
            once.setdefault(each["clip"] or each["words"], each)
        return Found(LOST, why, nearest=tuple(once.values()))

    def _strangers(self, event: Event, use: Use) -> list[dict]:
        """What an event may be of whose reel and names are nobody's: first what holds most of it, of cards alike."""
        alike = [self._with_reel(reel)[0] for reel in self._near.like(plain(event.reel))]
        cards = {clip.card for clip in alike}
        hits = sorted(
            islice(use.hits(self._all), _MOST_HITS),
            key=lambda hit: (-hit.share, hit.clip.card not in cards, hit.clip.card, hit.clip.start),
        )
        written = [{"clip": None, "words": f"{clip.card}: its reel {clip.reel} is written like it"} for clip in alike]
        return [*_holding(hits), *written]


def _grouped(pairs: Iterable[tuple[str, KnownClip]]) -> dict[str, Clips]:
    groups: dict[str, list[KnownClip]] = defaultdict(list)
    for key, clip in pairs:
        if key:
            groups[key].append(clip)
    return {key: Clips(clips) for key, clips in groups.items()}


def _candidate(clip: KnownClip, words: str, frame: int | None = None) -> dict:
    """A clip that an event may be of, in words; `frame` is the first that it would use, of a clip that holds some."""
    return {"clip": clip.id, "words": f"{clip.card} {clip.name}: {words}", "frame": frame}


def _holding(hits: Sequence[Hit], too: str = "") -> list[dict]:
    """The first of these as candidates, and how many more there are."""
    found = [
        _candidate(hit.clip, f"holds this timecode{too}" if hit.whole else _part_of(hit), hit.in_frame)
        for hit in hits[:_SHOWN]
    ]
    if (more := len(hits) - _SHOWN) > 0:
        clips = "1 more clip holds" if more == 1 else f"{more} more clips hold"
        found.append({"clip": None, "words": f"{clips} some of this timecode"})
    return found


def _part_of(hit: Hit) -> str:
    return f"holds {hit.out_frame - hit.in_frame:,} of its {hit.used:,} frames"


def _beginning_of(reel: str, clip: KnownClip) -> str:
    if plain(reel) in clip.names:
        return f"reel {reel}, which is the clip's name"
    whose = "card" if any(name.startswith(plain(reel)) for name in spellings(clip.card)) else "clip"
    return f"reel {reel}, with which the {whose}'s name begins"


def _away(frames: int, clip: KnownClip) -> str:
    seconds = float(clip.timebase.rate.seconds(frames))
    return f"{seconds:,.1f} s away (it holds {clip.label(0)} to {clip.label(clip.frames)})"
