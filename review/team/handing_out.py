"""Accepting a split: its pieces become stints, but for those of which somebody began or took something meanwhile.

People go on watching while a proposal waits. What one of them begins stays with them, and only its pieces are left out.
"""

from collections.abc import Container, Iterable, Mapping, Sequence

from django.db import transaction
from django.utils import timezone

from review import roles
from review.crew import access
from review.crew.activity import About, happened
from review.models import Person, Piece, Production, Split, Stint
from review.record import stints
from review.refusals import Refusal
from review.team.offer import movable
from review.team.planning import loggers_of, open_at, settle
from review.team.stretches import lock, lock_clips

_MOST_TOLD = 5  # pieces, in one sentence


def accept(person: Person, made: Split, version: int) -> Split:
    """Make stints of the pieces that can still be handed out; `left_out` tells the others. Raises Conflict when the
    split changed since `version`, and Refusal when another split came first, when somebody cannot take footage any
    more, and when nothing can be handed out."""
    production = made.production
    access.require(person, production, roles.HAND_OUT)
    with transaction.atomic():
        locked = open_at(made, version)
        lock(production)
        moving = Stint.objects.filter(id__in=locked.wanted.get("moves", ()), ended_at=None)
        lock_clips({*locked.pieces.values_list("clip", flat=True), *moving.values_list("clip", flat=True)})
        free = set(movable(moving, locked.wanted, locked.hours).values_list("id", flat=True))
        moving = list(moving.select_related("clip__card", "logger"))
        pieces = list(locked.pieces.exclude(logger=None).select_related("clip__card", "logger"))
        _refuse_who_left(production, pieces)
        stay = _staying(moving, pieces)
        begun = {stint.id for stint in moving if stint.id not in free}
        stints.end([each for each in moving if each.id not in begun | stay.keys()], f"moved in split {made.id}", locked)
        why = _taken_meanwhile(locked, pieces, stay, begun)
        handed = [piece for piece in pieces if piece.id not in why]
        if why and not handed:
            raise Refusal(f"Nothing of this can be handed out now: {_told(pieces, why)}. Propose afresh.", "state")
        _make_stints(locked, handed, stay)
        locked.wanted["left_out"] = {str(piece): words for piece, words in why.items()}
        locked.save(update_fields=["wanted"])
        settle(person, locked, Split.State.ACCEPTED)
        said = f"split {locked.id}: {len(handed)} stretches to {len({each.logger_id for each in handed})} people"
        said += f"; left out: {_told(pieces, why)}" if why else ""
        happened(production, person, "accepted", said, About.STINT)
    return locked


def left_out(split: Split) -> str:
    """Which pieces of an accepted split nobody was given, and why, as a part of a sentence; "" when none."""
    why = {int(piece): words for piece, words in split.wanted.get("left_out", {}).items()}
    return _told(split.pieces.filter(id__in=why).select_related("clip__card"), why)


def _told(pieces: Iterable[Piece], why: Mapping[int, str]) -> str:
    told = [
        f"{piece.clip.card.name} {piece.clip.name} from {piece.clip.label(piece.in_frame)} ({why[piece.id]})"
        for piece in pieces
        if piece.id in why
    ]
    return ", ".join(told[:_MOST_TOLD]) + (f" and {len(told) - _MOST_TOLD} more" if len(told) > _MOST_TOLD else "")


def _refuse_who_left(production: Production, pieces: Sequence[Piece]) -> None:
    able = {person.id for person in loggers_of(production)}
    gone = sorted({str(piece.logger) for piece in pieces if piece.logger_id not in able})
    if gone:
        raise Refusal(f"{', '.join(gone)} cannot take footage any more: give their pieces to others first.", "state")


def _staying(moving: Sequence[Stint], pieces: Sequence[Piece]) -> dict[int, Piece]:
    """Stints that their logger keeps as they are: all that is dealt out of them is one piece, and it is theirs."""
    by_clip: dict[int, list[Piece]] = {}
    for piece in pieces:
        by_clip.setdefault(piece.clip_id, []).append(piece)
    stay = {}
    for stint in moving:
        over = [
            piece
            for piece in by_clip.get(stint.clip_id, ())
            if piece.second == stint.second and piece.in_frame < stint.out_frame and piece.out_frame > stint.in_frame
        ]
        if len(over) == 1 and over[0].logger_id == stint.logger_id:
            (piece,) = over
            if stint.in_frame <= piece.in_frame and piece.out_frame <= stint.out_frame:
                stay[stint.id] = piece
    return stay


def _taken_meanwhile(
    made: Split, pieces: Sequence[Piece], stay: Mapping[int, Piece], begun: Container[int]
) -> dict[int, str]:
    """The pieces that their loggers cannot have, by id, and why: over what is held, but for what they keep (`stay`).
    Raises Refusal where what is held came from a split that was accepted since this one was proposed."""
    live: dict[int, list[Stint]] = {}
    rows = Stint.objects.filter(clip__card__production=made.production, ended_at=None).exclude(id__in=list(stay))
    for stint in rows.select_related("logger", "split"):
        live.setdefault(stint.clip_id, []).append(stint)
    why = {}
    for piece in pieces:
        for other in live.get(piece.clip_id, ()):
            over = other.in_frame < piece.out_frame and other.out_frame > piece.in_frame
            if not over or not stints.clash(piece.logger, piece.second, other):
                continue
            if other.split and other.split.settled_at > made.created:
                raise Refusal(
                    f"Since this was proposed, split {other.split_id} was handed out, and in it {other.logger} got "
                    f"something of {piece.clip.card.name} {piece.clip.name}. Nothing was handed out: propose afresh.",
                    "state",
                )
            why[piece.id] = f"{other.logger} has begun it" if other.id in begun else f"{other.logger} holds it"
    return why


def _make_stints(made: Split, pieces: Sequence[Piece], stay: Mapping[int, Piece]) -> None:
    kept = {piece.id: stint for stint, piece in stay.items()}
    first = {
        logger.id: stints.next_place(logger, made.production)
        for logger in {each.logger_id: each.logger for each in pieces}.values()
    }
    fresh, old = [], []
    for piece in pieces:
        place = first[piece.logger_id] + piece.place
        if piece.id in kept:
            old.append(Stint(id=kept[piece.id], place=place, touched_at=timezone.now()))
            continue
        fresh.append(
            Stint(
                clip_id=piece.clip_id,
                in_frame=piece.in_frame,
                out_frame=piece.out_frame,
                logger_id=piece.logger_id,
                second=piece.second,
                split=made,
                place=place,
            )
        )
    Stint.objects.bulk_create(fresh, batch_size=500)
    Stint.objects.bulk_update(old, ["place", "touched_at"], batch_size=500)
