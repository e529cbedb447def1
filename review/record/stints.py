"""Stints: who has taken on which stretch of footage. No frame is held by two people at once, but for second looks:
they lie over the first look of somebody else, never over anything of the same person.

A stint that its logger has not touched for longer than the production's idle hours is offered to others: it stays
theirs until somebody takes it.
"""

from datetime import datetime, timedelta

from django.db import transaction
from django.db.models import Max
from django.utils import timezone

from review import frames, roles
from review.crew import access
from review.crew.activity import About, happened
from review.models import Clip, Person, Production, Split, Stint, WatchedRange
from review.refusals import Refusal

LONGEST_IDLE = 24 * 60  # hours that a production may set
HANDED_BACK = "handed back"  # why a stint ended, when its own logger ended it


def take(person: Person, clip: Clip, in_frame: int = 0, out_frame: int | None = None, *, second: bool = False) -> Stint:
    """Take frames [in_frame, out_frame) of a clip (to its end if not said), if nobody holds any of them, or whoever
    does has let them rest. A `second` look may lie over the first look of somebody else."""
    return _give(person, clip, in_frame, out_frame, second, roles.TAKE_STINTS, by=person)


def hand_out(
    by: Person, person: Person, clip: Clip, in_frame: int = 0, out_frame: int | None = None, *, second: bool = False
) -> Stint:
    """Give a stretch to somebody else."""
    if not access.may(person, clip.card.production, roles.TAKE_STINTS):
        raise Refusal(f"{person} cannot take footage of {clip.card.production.code}.", "logger")
    return _give(person, clip, in_frame, out_frame, second, roles.HAND_OUT, by=by)


def _give(
    person: Person, clip: Clip, in_frame: int, out_frame: int | None, second: bool, ability: str, by: Person
) -> Stint:
    production = clip.card.production
    access.require(by, production, ability)
    out_frame = clip.frames if out_frame is None else out_frame
    if not 0 <= in_frame < out_frame <= clip.frames:
        raise Refusal(f"[{in_frame}, {out_frame}) is not a range of {clip.name}'s {clip.frames} frames.", "in_frame")
    with transaction.atomic():
        Clip.objects.select_for_update().get(id=clip.id)  # two askers come one after the other
        rested = _make_room(person, clip, in_frame, out_frame, second)
        stint = lay(person, clip, in_frame, out_frame, second=second, place=next_place(person, production))
        whose = f", which had rested with {', '.join(sorted({str(each.logger) for each in rested}))}" if rested else ""
        stretch = words(stint) + whose
        if by.id == person.id:
            happened(production, by, "took", stretch, About.STINT, stint.id, clip=clip)
        else:
            happened(
                production, by, "handed out", f"{words(stint)} to {person}{whose}", About.STINT, stint.id, clip=clip
            )
    return stint


def lay(
    person: Person,
    clip: Clip,
    in_frame: int,
    out_frame: int,
    *,
    second: bool = False,
    split: Split | None = None,
    place: int = 0,
) -> Stint:
    """Make a stint, inside a transaction that has locked the clip's row. What rests under it ends. Raises Refusal with
    who holds what, where somebody does, and to whom the whole of a second look is nothing new."""
    _make_room(person, clip, in_frame, out_frame, second)
    if second and _has_watched(person, clip, in_frame, out_frame):
        raise Refusal(f"{person} has watched all of this; a second look is for somebody else.", "logger")
    return Stint.objects.create(
        clip=clip, in_frame=in_frame, out_frame=out_frame, logger=person, second=second, split=split, place=place
    )


def _make_room(person: Person, clip: Clip, in_frame: int, out_frame: int, second: bool) -> list[Stint]:
    """End what rests in the way of a stint. Returns it; raises Refusal where something does not rest."""
    rested = []
    rests_since = idle_before(clip.card.production)
    for other in clip.stints.filter(ended_at=None, in_frame__lt=out_frame, out_frame__gt=in_frame):
        if not clash(person, second, other):
            continue
        if other.logger_id == person.id or other.touched_at >= rests_since:
            raise Refusal(
                f"{other.logger} holds {clip.label(other.in_frame)} to {clip.label(other.out_frame)} of "
                f"{clip.name}; take another stretch, or ask for it to be handed back.",
                "clip",
            )
        end([other], f"it rested, and {person} took it on")
        rested.append(other)
    return rested


def clash(person: Person, second: bool, other: Stint) -> bool:
    """Whether somebody cannot have frames for a first or `second` look while `other` lies over them."""
    return other.logger_id == person.id or other.second == second


def _has_watched(person: Person, clip: Clip, in_frame: int, out_frame: int) -> bool:
    seen = WatchedRange.objects.filter(clip=clip, person=person, manner=WatchedRange.Manner.WATCHED)
    return not frames.subtract([(in_frame, out_frame)], seen.values_list("in_frame", "out_frame"))


def hand_back(person: Person, stint: Stint) -> Stint:
    """End a stint: by the one who holds it, or by who hands stints out. Twice is once."""
    production = stint.clip.card.production
    if stint.logger_id != person.id:
        access.require(person, production, roles.HAND_OUT)
    with transaction.atomic():
        own = stint.logger_id == person.id
        if end([stint], HANDED_BACK if own else f"taken back by {person}"):
            did, whose = ("handed back", "") if own else ("took back", f" from {stint.logger}")
            happened(production, person, did, words(stint) + whose, About.STINT, stint.id, clip=stint.clip)
    stint.refresh_from_db()
    return stint


def end(stints: list[Stint], why: str, moved_in: Split | None = None) -> int:
    """End stints that are held. Returns how many were."""
    held = Stint.objects.filter(id__in=[stint.id for stint in stints], ended_at=None)
    most = Stint._meta.get_field("ended_why").max_length
    return held.update(ended_at=timezone.now(), ended_why=why[:most], moved_in=moved_in)


def touched(person: Person, clip: Clip, when: datetime | None = None) -> None:
    """Somebody watched or marked in a clip: what they hold of it does not rest."""
    Stint.objects.filter(clip=clip, logger=person, ended_at=None).update(touched_at=when or timezone.now())


def idle_before(production: Production) -> datetime:
    """A stint that was last touched before this rests."""
    return timezone.now() - timedelta(hours=production.idle_hours)


def set_idle_hours(person: Person, production: Production, hours: int) -> None:
    """After how many hours without watching or marking a stint is offered to others."""
    access.require(person, production, roles.SET_RULES)
    if not 1 <= hours <= LONGEST_IDLE:
        raise Refusal(f"A stint may rest for 1 to {LONGEST_IDLE:,} hours.", "idle_hours")
    with transaction.atomic():
        production.idle_hours = hours
        production.save(update_fields=["idle_hours"])
        said = f"that a stint which rests for {hours} hours is offered to others"
        happened(production, person, "set", said, About.PRODUCTION, production.code)


def next_place(person: Person, production: Production) -> int:
    """After everything that somebody holds in a production."""
    held = Stint.objects.filter(logger=person, ended_at=None, clip__card__production=production)
    last = held.aggregate(last=Max("place"))["last"]
    return 0 if last is None else last + 1


def words(stint: Stint) -> str:
    """10:00:00:00 to 10:04:00:00 of A001C001."""
    clip = stint.clip
    what = f"{clip.label(stint.in_frame)} to {clip.label(stint.out_frame)} of {clip.name}"
    return f"a second look at {what}" if stint.second else what
