"""Accepting a split: its pieces become stints, all or none."""

from collections.abc import Mapping, Sequence

from django.db import transaction
from django.utils import timezone

from review import roles
from review.crew import access
from review.crew.activity import About, happened
from review.models import Person, Piece, Production, Split, Stint
from review.record import stints
from review.refusals import Refusal
from review.team.holding import unbegun
from review.team.planning import loggers_of, open_at, settle
from review.team.stretches import lock, lock_clips


def accept(person: Person, made: Split, version: int) -> Split:
    """Make the pieces stints, all or none. Raises Conflict when the split changed since `version`, and Refusal with
    who holds or has begun what, when that has changed since it was proposed."""
    production = made.production
    access.require(person, production, roles.HAND_OUT)
    with transaction.atomic():
        locked = open_at(made, version)
        lock(production)
        moving = Stint.objects.filter(id__in=locked.wanted.get("moves", ()), ended_at=None)
        lock_clips({*locked.pieces.values_list("clip", flat=True), *moving.values_list("clip", flat=True)})
        moving = list(moving.select_related("clip__card", "logger"))
        pieces = list(locked.pieces.exclude(logger=None).select_related("clip__card", "logger"))
        _refuse_begun(moving)
        _refuse_who_left(production, pieces)
        stay = _staying(moving, pieces)
        stints.end([stint for stint in moving if stint.id not in stay], f"moved in split {locked.id}", locked)
        _refuse_held(production, pieces, stay)
        _make_stints(locked, pieces, stay)
        settle(person, locked, Split.State.ACCEPTED)
        said = f"split {locked.id}: {len(pieces)} stretches to {len({each.logger_id for each in pieces})} people"
        happened(production, person, "accepted", said, About.PRODUCTION, production.code)
    return locked


def _refuse_begun(moving: Sequence[Stint]) -> None:
    fresh = set(unbegun(Stint.objects.filter(id__in=[each.id for each in moving])).values_list("id", flat=True))
    begun = [stint for stint in moving if stint.id not in fresh]
    if begun:
        told = "; ".join(f"{stint.logger} has begun {stints.words(stint)}" for stint in begun[:5])
        raise Refusal(
            f"Since this was proposed {_and_more(told, len(begun))}. Split again: what is begun stays.", "state"
        )


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


def _refuse_held(production: Production, pieces: Sequence[Piece], stay: Mapping[int, Piece]) -> None:
    live: dict[int, list[Stint]] = {}
    rows = Stint.objects.filter(clip__card__production=production, ended_at=None).exclude(id__in=list(stay))
    for stint in rows.select_related("logger"):
        live.setdefault(stint.clip_id, []).append(stint)
    told = []
    for piece in pieces:
        for other in live.get(piece.clip_id, ()):
            over = other.in_frame < piece.out_frame and other.out_frame > piece.in_frame
            if over and stints.clash(piece.logger, piece.second, other):
                clip = piece.clip
                told.append(
                    f"{other.logger} holds {clip.label(other.in_frame)} to {clip.label(other.out_frame)} of "
                    f"{clip.card.name} {clip.name}"
                )
    if told:
        said = _and_more("; ".join(told[:5]), len(told))
        raise Refusal(f"Since this was proposed {said}. Nothing was handed out: split again.", "state")


def _and_more(told: str, count: int) -> str:
    return told + (f"; and {count - 5} more" if count > 5 else "")


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
