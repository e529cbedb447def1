"""What somebody asks of coverage: which footage, how it is grouped, and in what order. Pages, API and CSV read it from
the same query."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import date

from django.db.models import F, Q

from review.many_ids import among
from review.models import Production, SeenBy
from review.record import story_footage
from review.record.coverage import counts
from review.refusals import Refusal

BY = ("card", "camera", "day", "story", "logger")
STATES = {
    "untouched": "nothing of it seen",
    "unwatched": "some of it unwatched",
    "skimmed": "some of it only skimmed",
    "seen": "nothing left unwatched",
    "watched": "all of it watched",
}
SORTS = ("name", "clips", "shot", "watched", "skimmed", "unwatched", "seen", "selects", "asked", "twice")
STRETCHES = {"unwatched": "seen by nobody", "skimmed": "only skimmed", "both": "both"}

Condition = Callable[[str], Q]


@dataclass(frozen=True)
class Asked:
    """`person`: watched and skimmed are what this person alone saw, and the `state` of a clip is as they saw it. `sort`
    begins with '-' for most first."""

    by: str = "card"
    sort: str = "name"
    day: str = ""
    camera: str = ""
    card: str = ""
    story: str = ""
    person: str = ""
    state: str = ""
    stretches: str = "unwatched"

    @classmethod
    def read(cls, query: Mapping[str, str]) -> "Asked":
        """From a query; what is not in it has its usual value. Raises Refusal for what cannot be."""
        given = {name: (query.get(name) or "").replace("\0", "").strip() for name in cls.__dataclass_fields__}
        asked = cls(**{name: value for name, value in given.items() if value})
        _one_of("by", asked.by, BY)
        _one_of("sort", asked.sort.removeprefix("-"), SORTS)
        _one_of("state", asked.state, ("", *STATES))
        _one_of("stretches", asked.stretches, tuple(STRETCHES))
        if asked.day not in ("", "none"):
            try:
                date.fromisoformat(asked.day)
            except ValueError:
                raise Refusal(
                    f"{asked.day[:20]!a} is not a day; write it as 2026-11-12, or none for cards without one.", "day"
                ) from None
        return asked

    def grouped_by(self, by: str) -> "Asked":
        """The same footage, grouped otherwise and by name."""
        return replace(self, by=by, sort="name")

    @property
    def narrowed(self) -> bool:
        """Whether it is of a part of the footage only."""
        return any((self.day, self.camera, self.card, self.story, self.state))

    def condition(self, production: Production) -> Condition:
        """The condition for footage to be asked for, of rows whose clip is reached by a prefix such as "clip__"."""
        story = story_footage.clips_of(production, self.story) if self.story else None

        def condition(clip: str) -> Q:
            found = counts(production, clip)
            if self.day:
                found &= Q(**{f"{clip}card__shoot_date": None if self.day == "none" else self.day})
            if self.camera:
                found &= Q(**{f"{clip}card__camera": "" if self.camera == "?" else self.camera.upper()})
            if self.card:
                found &= Q(**{f"{clip}card__name": self.card})
            if story is not None:
                found &= Q(**{f"{_key(clip)}__in": among(sorted(story))})
            if self.state:
                found &= _in_state_for(self.person, self.state, clip) if self.person else _in_state(self.state, clip)
            return found

        return condition


def _one_of(field: str, value: str, known: tuple[str, ...]) -> None:
    if value not in known:
        words = ", ".join(filter(None, known))
        raise Refusal(f"{value[:30]!a} cannot be asked for as {field}; it is one of {words}.", field)


def _key(clip: str) -> str:
    return clip.removesuffix("__") or "pk"


def _in_state(state: str, clip: str) -> Q:
    watched, skimmed, length = (f"{clip}{name}" for name in ("watched_frames", "skimmed_frames", "frames"))
    if state == "watched":
        return Q(**{watched: F(length)})
    if state == "untouched":
        return Q(**{watched: 0, skimmed: 0})
    if state == "skimmed":
        return Q(**{f"{skimmed}__gt": 0})
    if state == "seen":
        return Q(**{length: F(watched) + F(skimmed)})
    return Q(**{f"{length}__gt": F(watched) + F(skimmed)})


def _in_state_for(person: str, state: str, clip: str) -> Q:
    """As if nobody but `person` had seen anything."""
    seen = SeenBy.objects.filter(person__username=person)
    both = F("watched_frames") + F("skimmed_frames")
    some, all_of_it = seen.filter(Q(watched_frames__gt=0) | Q(skimmed_frames__gt=0)), seen.filter(clip__frames=both)
    if state == "watched":
        return Q(**{f"{_key(clip)}__in": seen.filter(clip__frames=F("watched_frames")).values("clip")})
    if state == "skimmed":
        return Q(**{f"{_key(clip)}__in": seen.filter(skimmed_frames__gt=0).values("clip")})
    found = Q(**{f"{_key(clip)}__in": (some if state == "untouched" else all_of_it).values("clip")})
    return found if state == "seen" else ~found
