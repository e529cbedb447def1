"""What somebody is to watch next: first what they hold, then what nobody does, never what others do.

The watching page keeps the same rule inside a clip (static/review/js/to-watch.js).
"""

from django.db.models import F, Q

from review import frames
from review.coverage import Stretch, footage
from review.models import Clip, Person, Production, Stint, WatchedRange


def next_unwatched(
    production: Production, person: Person, after: Clip | None = None, frame: int | None = None
) -> Stretch | None:
    """The first unseen frames for this person: of what they hold, in its order; then, in shooting order, of what
    nobody holds. Each goes on from the clip `after`, or from a `frame` of it, and comes round to the start."""
    ahead = _free_ahead(production, after, frame) if after and frame is not None else None
    return _next_held(production, person, after) or ahead or _next_free(production, after)


def holds_more(person: Person, clip: Clip) -> bool:
    """Whether somebody holds anything of another clip of the production in which they may have something to watch."""
    mine = Stint.objects.filter(logger=person, ended_at=None, clip__in=footage(clip.card.production))
    mine = mine.filter(clip__proxy_state__in=Clip.PLAYABLE).exclude(clip=clip)
    unseen = Q(clip__frames__gt=F("clip__watched_frames") + F("clip__skimmed_frames"))
    return mine.filter(unseen | Q(second=True)).exists()


def _free_ahead(production: Production, clip: Clip, frame: int) -> Stretch | None:
    """What begins after a frame of a clip, and nobody has seen and nobody holds."""
    clip = footage(production).filter(id=clip.id, proxy_state__in=Clip.PLAYABLE).select_related("card").first()
    if clip is None:
        return None
    taken = clip.stints.filter(ended_at=None, second=False).values_list("in_frame", "out_frame")
    seen = clip.watched_ranges.values_list("in_frame", "out_frame")
    free = frames.gaps([*seen, *taken], clip.watchable_frames)
    return next((Stretch(clip, *each) for each in free if each.in_frame > frame), None)


def _next_held(production: Production, person: Person, after: Clip | None) -> Stretch | None:
    mine = Stint.objects.filter(logger=person, ended_at=None, clip__in=footage(production))
    mine = mine.filter(clip__proxy_state__in=Clip.PLAYABLE).order_by("place", "clip", "in_frame")
    seen: dict[int, list[tuple[int, int]]] = {}
    own: dict[int, list[tuple[int, int]]] = {}
    rows = WatchedRange.objects.filter(clip__in=mine.order_by().values("clip")).order_by()
    for clip_id, who, start, end in rows.values_list("clip", "person", "in_frame", "out_frame"):
        seen.setdefault(clip_id, []).append((start, end))
        if who == person.id:
            own.setdefault(clip_id, []).append((start, end))
    heavy = ("clip__probe", "clip__files", "clip__file_frames", "clip__sound_files", "clip__sidecars")
    stints = list(mine.select_related("clip__card").defer(*heavy))
    here = max((at for at, stint in enumerate(stints) if after and stint.clip_id == after.id), default=-1)
    for stint in stints[here + 1 :] + stints[: here + 1]:
        wanted = frames.intersect([(stint.in_frame, stint.out_frame)], [(0, stint.clip.watchable_frames)])
        # A second look is for this person's eyes, whoever has seen it before.
        if left := frames.subtract(wanted, (own if stint.second else seen).get(stint.clip_id, ())):
            return Stretch(stint.clip, *left[0])
    return None


def _next_free(production: Production, after: Clip | None) -> Stretch | None:
    order = (F("card__shoot_date").asc(nulls_last=True), "start_frame", "card__camera", "id")
    ready = footage(production).filter(proxy_state__in=Clip.PLAYABLE).order_by(*order)
    places = {clip_id: place for place, clip_id in enumerate(ready.values_list("id", flat=True))}
    here = places.get(after.id, -1) if after else -1
    taken: dict[int, list[tuple[int, int]]] = {}
    held = Stint.objects.filter(clip__card__production=production, ended_at=None, second=False).order_by()
    for clip_id, start, end in held.values_list("clip", "in_frame", "out_frame"):
        taken.setdefault(clip_id, []).append((start, end))
    unseen = dict(ready.filter(frames__gt=F("watched_frames") + F("skimmed_frames")).values_list("id", "frames"))
    for clip_id in sorted(unseen, key=lambda each: (places[each] <= here, places[each])):
        if clip_id in taken and not frames.gaps(taken[clip_id], unseen[clip_id]):
            continue  # all of it is held: the usual case by far, so it is told without asking the database
        clip = Clip.objects.select_related("card").get(id=clip_id)
        seen = clip.watched_ranges.values_list("in_frame", "out_frame")
        if free := frames.gaps([*seen, *taken.get(clip_id, ())], clip.watchable_frames):
            return Stretch(clip, *free[0])
    return None
