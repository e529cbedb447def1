"""What somebody is to watch next: first what they hold, then what nobody does, never what others do. Whoever is in
the midst of such a stretch is led to its start first.

The watching page keeps the same rule inside a clip (static/review/js/to-watch.js). tests/data/next_unwatched.json holds
both to one table of cases.
"""

from django.db.models import F

from review import frames
from review.models import Clip, Person, Production, Stint, WatchedRange
from review.record.coverage import Stretch, footage

_LIGHT = (  # of a stint, as every watching page asks for all that its person holds
    *("in_frame", "out_frame", "second", "clip__frames", "clip__proxy_state", "clip__proxied_frames"),
    *("clip__watched_frames", "clip__skimmed_frames"),
)


def next_unwatched(
    production: Production, person: Person, after: Clip | None = None, frame: int | None = None
) -> Stretch | None:
    """The first unseen frames for this person: of what they hold, in its order; then, in shooting order, of what
    nobody holds. Each goes on from the clip `after`, or from a `frame` of it, and comes round to the start."""
    here = _free_from(production, after, frame) if after and frame is not None else None
    return _next_held(production, person, after, frame) or here or _next_free(production, after)


def holds_more(person: Person, clip: Clip) -> bool:
    """Whether anything is left to watch of what somebody holds of the production's other clips."""
    return _next_held(clip.card.production, person, but=clip) is not None


def _free_from(production: Production, clip: Clip, frame: int) -> Stretch | None:
    """What has a frame of a clip in its midst, or begins after it, and nobody has seen and nobody holds."""
    clip = footage(production).filter(id=clip.id, proxy_state__in=Clip.PLAYABLE).select_related("card").first()
    if clip is None:
        return None
    taken = clip.stints.filter(ended_at=None, second=False).values_list("in_frame", "out_frame")
    seen = clip.watched_ranges.values_list("in_frame", "out_frame")
    free = frames.gaps([*seen, *taken], clip.watchable_frames)
    return next((Stretch(clip, *each) for each in free if _leads_on(each, frame)), None)


def _leads_on(stretch: frames.FrameRange, frame: int) -> bool:
    """Whether somebody at a frame is to go to the start of a stretch of the clip: it is in its midst, or before it."""
    return frame != stretch.in_frame and frame < stretch.out_frame


def _next_held(
    production: Production,
    person: Person,
    after: Clip | None = None,
    frame: int | None = None,
    *,
    but: Clip | None = None,
) -> Stretch | None:
    """What is left of the stints of somebody, those of the clip `but` left out: first what has a `frame` of the clip
    `after` in its midst, or begins after it; then of the stints that follow that clip's, and so round."""
    mine = Stint.objects.filter(logger=person, ended_at=None, clip__in=footage(production))
    mine = mine.filter(clip__proxy_state__in=Clip.PLAYABLE).order_by("place", "clip", "in_frame")
    if but:
        mine = mine.exclude(clip=but)
    stints = list(mine.select_related("clip").only(*_LIGHT))
    left = _left_of(stints, person)
    here = [at for at, stint in enumerate(stints) if after and stint.clip_id == after.id]
    if frame is not None:
        leading = [each for at in here for each in left[at] if _leads_on(each, frame)]
        if leading:
            return Stretch(stints[here[0]].clip, *min(leading))
    first = here[-1] + 1 if here else 0
    for at in [*range(first, len(stints)), *range(first)]:
        if left[at]:
            return Stretch(stints[at].clip, *left[at][0])
    return None


def _left_of(stints: list[Stint], person: Person) -> list[list[frames.FrameRange]]:
    """Of each stint of a person, the frames that can be watched by now and are unseen."""
    open_clips = {stint.clip_id for stint in stints if stint.second or stint.clip.unwatched_frames}
    seen: dict[int, list[tuple[int, int]]] = {}
    own: dict[int, list[tuple[int, int]]] = {}
    rows = WatchedRange.objects.filter(clip__in=open_clips).order_by()
    for clip_id, who, start, end in rows.values_list("clip", "person", "in_frame", "out_frame"):
        seen.setdefault(clip_id, []).append((start, end))
        if who == person.id:
            own.setdefault(clip_id, []).append((start, end))

    def left(stint: Stint) -> list[frames.FrameRange]:
        if stint.clip_id not in open_clips:
            return []
        wanted = frames.intersect([(stint.in_frame, stint.out_frame)], [(0, stint.clip.watchable_frames)])
        # A second look is for this person's eyes, whoever has seen it before.
        return frames.subtract(wanted, (own if stint.second else seen).get(stint.clip_id, ()))

    return [left(stint) for stint in stints]


def _next_free(production: Production, after: Clip | None) -> Stretch | None:
    order = (F("card__shoot_date").asc(nulls_last=True), "start_frame", "card__camera", "id")
    ready = footage(production).filter(proxy_state__in=Clip.PLAYABLE).order_by(*order)
    # In one query: a clip that becomes ready between two would be in one answer and not in the other.
    unseen = F("frames") - F("watched_frames") - F("skimmed_frames")
    clips = list(ready.values_list("id", "frames", unseen))
    here = next((place for place, (clip_id, *_) in enumerate(clips) if after and clip_id == after.id), -1)
    taken: dict[int, list[tuple[int, int]]] = {}
    held = Stint.objects.filter(clip__card__production=production, ended_at=None, second=False).order_by()
    for clip_id, start, end in held.values_list("clip", "in_frame", "out_frame"):
        taken.setdefault(clip_id, []).append((start, end))
    for clip_id, length, left in clips[here + 1 :] + clips[: here + 1]:
        if not left or (clip_id in taken and not frames.gaps(taken[clip_id], length)):
            continue  # all of it is seen or held: the usual case by far, so it is told without asking the database
        clip = Clip.objects.select_related("card").filter(id=clip_id).first()
        if clip is None:
            continue  # its card has just been found to hold it no more
        seen = clip.watched_ranges.values_list("in_frame", "out_frame")
        if free := frames.gaps([*seen, *taken.get(clip_id, ())], clip.watchable_frames):
            return Stretch(clip, *free[0])
    return None
