"""Second looks: footage that two pairs of eyes are asked to see. No frame is asked for twice at once."""

from django.db import transaction
from django.db.models import F, QuerySet, Sum
from django.utils import timezone

from review import frames, roles
from review.crew import access
from review.crew.activity import About, happened
from review.models import Card, Clip, Person, Production, SecondLook
from review.record.coverage import Coverage, counts, timebase
from review.record.seen_sums import seen_of, seen_twice_within
from review.refusals import Refusal

LONGEST_WHY = SecondLook._meta.get_field("why").max_length


def ask(person: Person, clip: Clip, in_frame: int = 0, out_frame: int | None = None, why: str = "") -> SecondLook:
    """Ask that two people watch frames [in_frame, out_frame) of a clip, to its end if not said."""
    access.require(person, clip.card.production, roles.ASK_SECOND_LOOKS)
    with transaction.atomic():
        clip = Clip.objects.select_for_update(of=("self",)).select_related("card__production").get(id=clip.id)
        out_frame = clip.frames if out_frame is None else out_frame
        if not 0 <= in_frame < out_frame <= clip.frames:
            raise Refusal(
                f"[{in_frame}, {out_frame}) is not a range of {clip.name}'s {clip.frames} frames.", "in_frame"
            )
        over = _wanted(clip).filter(in_frame__lt=out_frame, out_frame__gt=in_frame).select_related("asked_by").first()
        if over:
            raise Refusal(
                f"{over.asked_by} has asked for a second look at {clip.label(over.in_frame)} to "
                f"{clip.label(over.out_frame)} of {clip.name} already; ask for the rest, or end that one first.",
                "clip",
            )
        look = _make(person, clip, in_frame, out_frame, why)
        happened(clip.card.production, person, "asked for", _words(look), About.CLIP, clip.id, clip=clip)
    return look


def ask_for_card(person: Person, card: Card, why: str = "") -> int:
    """Ask for all of a card that is not asked for yet. Returns for how many stretches that was."""
    access.require(person, card.production, roles.ASK_SECOND_LOOKS)
    made = 0
    with transaction.atomic():
        for clip in card.clips.select_for_update(of=("self",)).select_related("card__production").order_by("id"):
            asked = _wanted(clip).values_list("in_frame", "out_frame")
            for gap in frames.gaps(asked, clip.frames):
                _make(person, clip, *gap, why)
                made += 1
        if not made:
            raise Refusal(f"Second looks at all of {card.name} have been asked for already.", "card")
        what = f"second looks at all of {card.name}"
        happened(card.production, person, "asked for", what, About.CARD, card.id, card=card)
    return made


def _make(person: Person, clip: Clip, in_frame: int, out_frame: int, why: str) -> SecondLook:
    why = " ".join(why.replace("\0", "").split())
    if len(why) > LONGEST_WHY:
        raise Refusal(f"The reason has {len(why)} letters; {LONGEST_WHY} is the most.", "why")
    look = SecondLook(clip=clip, in_frame=in_frame, out_frame=out_frame, asked_by=person, why=why)
    look.seen_frames = seen_twice_within(look, seen_of(clip).twice())
    look.save()
    return look


def end(person: Person, look: SecondLook) -> SecondLook:
    """It is not wanted any more. Twice is once."""
    production = look.clip.card.production
    access.require(person, production, roles.ASK_SECOND_LOOKS)
    with transaction.atomic():
        if SecondLook.objects.filter(id=look.id, ended_at=None).update(ended_at=timezone.now()):
            happened(production, person, "ended", _words(look), About.CLIP, look.clip_id, clip=look.clip)
    look.refresh_from_db()
    return look


def wanted(production: Production) -> QuerySet[SecondLook]:
    """Those that are asked for in a production, the newest first."""
    looks = SecondLook.objects.filter(clip__card__production=production, ended_at=None)
    return looks.select_related("clip__card__production", "asked_by").order_by("-id")


def total(production: Production) -> Coverage:
    """How much is asked for in a production, and how much of it two people have seen; nothing else is counted."""
    columns = ("clip__rate_numerator", "clip__rate_denominator", "clip__drop")
    looks = SecondLook.objects.filter(counts(production, "clip__"), ended_at=None).order_by().values_list(*columns)
    made = Coverage()
    for *base, until, since, seen in looks.annotate(Sum("out_frame"), Sum("in_frame"), Sum("seen_frames")):
        made.put(timebase(*base), asked=until - since, twice=seen)
    return made


def waiting(clip: Clip) -> QuerySet[SecondLook]:
    """Those of a clip of which two people have not watched all yet."""
    unseen = _wanted(clip).filter(seen_frames__lt=F("out_frame") - F("in_frame"))
    return unseen.select_related("asked_by").order_by("in_frame")


def _wanted(clip: Clip) -> QuerySet[SecondLook]:
    return SecondLook.objects.filter(clip=clip, ended_at=None)


def _words(look: SecondLook) -> str:
    clip = look.clip
    return f"a second look at {clip.label(look.in_frame)} to {clip.label(look.out_frame)} of {clip.name}"
