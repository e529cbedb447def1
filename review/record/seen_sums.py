"""What coverage is read from, kept as watching arrives: a clip's totals, each person's, and what nobody has watched."""

from collections.abc import Iterable

from review import frames
from review.models import Clip, SecondLook, SeenBy, Unwatched, WatchedRange
from review.record.seen import Seen

TOTALS = ("watched_frames", "skimmed_frames", "unseen_count")  # of a clip, that `keep` sets
_STRETCH = ("in_frame", "out_frame", "skimmed", "seconds")


def seen_of(clip: Clip) -> Seen:
    rows = WatchedRange.objects.filter(clip=clip).order_by()
    skimmed = WatchedRange.Manner.SKIMMED
    return Seen(
        clip.frames,
        (
            (person, manner == skimmed, start, end)
            for person, manner, start, end in rows.values_list("person", "manner", "in_frame", "out_frame")
        ),
    )


def seen_of_each(clips: Iterable[Clip]) -> dict[int, Seen]:
    """As `seen_of`, for a page of clips at once, by their ids."""
    found = {clip.id: Seen(clip.frames) for clip in clips}
    rows = WatchedRange.objects.filter(clip__in=found).order_by()
    skimmed = WatchedRange.Manner.SKIMMED
    for clip, person, manner, start, end in rows.values_list("clip", "person", "manner", "in_frame", "out_frame"):
        found[clip].add(person, manner == skimmed, [(start, end)])
    return found


def keep(clip: Clip, seen: Seen, people: Iterable[int] | None = None) -> None:
    """Set (not save) the clip's totals, and write down the rest; the sums of only these people if given. To be called
    in a transaction that has locked the clip's row."""
    stretches = seen.unwatched()
    unseen = sum(each.length for each, skimmed in stretches.items() if not skimmed)
    clip.skimmed_frames = sum(each.length for each, skimmed in stretches.items() if skimmed)
    clip.watched_frames = clip.frames - clip.skimmed_frames - unseen
    _keep_sums(clip, seen, people)
    _keep_stretches(clip, stretches if unseen < clip.frames else {})
    _keep_second_looks(clip, seen)


def _keep_sums(clip: Clip, seen: Seen, people: Iterable[int] | None) -> None:
    if people is None:
        people = seen.people
        SeenBy.objects.filter(clip=clip).exclude(person__in=people).delete()
    sums = [
        SeenBy(
            clip=clip,
            person_id=person,
            watched_frames=frames.count(seen.watched(person)),
            skimmed_frames=frames.count(seen.skimmed(person)),
        )
        for person in people
    ]
    SeenBy.objects.bulk_create(
        sums,
        update_conflicts=True,
        unique_fields=["clip", "person"],
        update_fields=["watched_frames", "skimmed_frames"],
    )


def _keep_stretches(clip: Clip, stretches: dict[frames.FrameRange, bool]) -> None:
    """The rows that have changed, in place: mostly one, which has become shorter."""
    rate = clip.timebase.rate
    wanted = {(*each, skimmed, float(rate.seconds(each.length))) for each, skimmed in stretches.items()}
    rows = Unwatched.objects.filter(clip=clip).values_list("id", "in_frame", "out_frame", "skimmed", "seconds")
    there = {tuple(facts): row for row, *facts in rows}
    fresh = [dict(zip(_STRETCH, each, strict=True)) for each in wanted if each not in there]
    gone = [row for each, row in there.items() if each not in wanted]
    for row, facts in zip(gone, fresh, strict=False):
        Unwatched.objects.filter(id=row).update(**facts)
    if spare := gone[len(fresh) :]:
        Unwatched.objects.filter(id__in=spare).delete()
    Unwatched.objects.bulk_create([Unwatched(clip=clip, **facts) for facts in fresh[len(gone) :]], batch_size=500)
    clip.unseen_count = sum(not skimmed for skimmed in stretches.values())


def _keep_second_looks(clip: Clip, seen: Seen) -> None:
    looks = list(SecondLook.objects.filter(clip=clip, ended_at=None))
    if not looks:
        return
    twice = seen.twice()
    for look in looks:
        now = seen_twice_within(look, twice)
        if now != look.seen_frames:
            SecondLook.objects.filter(id=look.id).update(seen_frames=now)


def seen_twice_within(look: SecondLook, twice: list[frames.FrameRange]) -> int:
    """How many frames of a second look are in `twice`."""
    return frames.count(frames.intersect([(look.in_frame, look.out_frame)], twice))
