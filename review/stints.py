"""Stints: who has taken on which stretch of footage. No frame is held by two people at once."""

from django.db import transaction
from django.utils import timezone

from review import access, frames, roles
from review.models import Clip, Person, Stint
from review.refusals import Refusal


def take(person: Person, clip: Clip, in_frame: int = 0, out_frame: int | None = None) -> Stint:
    """Take frames [in_frame, out_frame) of a clip (to its end if not said), if nobody holds any of them."""
    return _give(person, clip, in_frame, out_frame, roles.TAKE_STINTS, by=person)


def hand_out(by: Person, person: Person, clip: Clip, in_frame: int = 0, out_frame: int | None = None) -> Stint:
    """Give a stretch to somebody else."""
    if not access.may(person, clip.card.production, roles.TAKE_STINTS):
        raise Refusal(f"{person} cannot take footage of {clip.card.production.code}.", "logger")
    return _give(person, clip, in_frame, out_frame, roles.HAND_OUT, by=by)


def _give(person: Person, clip: Clip, in_frame: int, out_frame: int | None, ability: str, by: Person) -> Stint:
    access.require(by, clip.card.production, ability)
    out_frame = clip.frames if out_frame is None else out_frame
    if not 0 <= in_frame < out_frame <= clip.frames:
        raise Refusal(f"[{in_frame}, {out_frame}) is not a range of {clip.name}'s {clip.frames} frames.", "in_frame")
    with transaction.atomic():
        Clip.objects.select_for_update().get(id=clip.id)  # two askers come one after the other
        live = Stint.objects.filter(clip=clip, ended_at=None).select_related("logger")
        for other in live:
            if frames.intersect([(in_frame, out_frame)], [(other.in_frame, other.out_frame)]):
                raise Refusal(
                    f"{other.logger} holds {clip.label(other.in_frame)} to {clip.label(other.out_frame)} of "
                    f"{clip.name}; take another stretch, or ask for it to be handed back.",
                    "clip",
                )
        return Stint.objects.create(clip=clip, in_frame=in_frame, out_frame=out_frame, logger=person)


def hand_back(person: Person, stint: Stint) -> Stint:
    """End a stint: by the one who holds it, or by who hands stints out. Twice is once."""
    if stint.logger_id != person.id:
        access.require(person, stint.clip.card.production, roles.HAND_OUT)
    Stint.objects.filter(id=stint.id, ended_at=None).update(ended_at=timezone.now())
    stint.refresh_from_db()
    return stint
