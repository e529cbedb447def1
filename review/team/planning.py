"""Planning who watches what: a split is proposed, moved about by hand, and becomes stints in review.team.handing_out.

What somebody has begun stays theirs; with `again`, what is held and not begun is dealt out anew with the rest, and with
`begun` also what the absent have begun. What was chosen is kept in Split.wanted:

    cards, days, cameras, tags   names, dates, letters, tags of field notes: any of each, and all kinds given
    urgent_days, urgent_tags     are given out and watched first
    seconds                      second looks that are wanted are given out too
    again                        what is held and not begun is dealt out anew
    begun                        with `again`: what those have begun who have no hours is dealt out anew, too
    minutes_an_hour              of footage, that is given for each hour; 0: all of it, however long
    moves                        the stints that are given anew, by id
    rest                         seconds that were chosen and did not fit into the hours
    left_out                     once accepted: id of a piece that could not be handed out (as text) -> why
"""

from collections.abc import Mapping, Sequence
from datetime import date

from django.db import transaction
from django.utils import timezone

from review import roles
from review.crew import access
from review.models import Person, Piece, Production, Split
from review.refusals import Conflict, NotFound, Refusal
from review.team.offer import Offer, gather
from review.team.splitting import fitting, split

MOST_HOURS = 24
MOST_PIECES = 20_000
_LISTS = ("cards", "days", "cameras", "tags", "urgent_days", "urgent_tags")
_SWITCHES = ("seconds", "again", "begun")


def propose(person: Person, production: Production, wanted: Mapping, hours: Mapping[str, float]) -> Split:
    """Propose who watches what of the footage that is `wanted`, for loggers by name with the hours that they have."""
    access.require(person, production, roles.HAND_OUT)
    wanted = _checked(wanted)
    loggers = _loggers(production, hours)
    offer = gather(production, wanted, loggers, {name: float(each) for name, each in hours.items()})
    pieces = offer.pieces
    rest: list = []
    if wanted["minutes_an_hour"]:
        pieces, rest = fitting(pieces, offer.hands, 60 * wanted["minutes_an_hour"], offer.cut)
    if not pieces:
        why = "whoever you chose holds as much as their hours allow" if rest else "all of it is seen or held"
        raise Refusal(f"There is nothing to hand out in what you chose: {why}.", "wanted")
    shares = split(pieces, offer.hands, offer.cut)
    people = {logger.username: logger for logger in loggers}
    given = [(piece, people[name]) for name, theirs in shares.given.items() for piece in theirs]
    given += [(piece, None) for piece in shares.left]
    if len(given) > MOST_PIECES:
        raise Refusal(f"That are {len(given):,} pieces; {MOST_PIECES:,} is the most. Choose fewer days.", "wanted")
    with transaction.atomic():
        made = Split.objects.create(
            production=production,
            made_by=person,
            wanted={**wanted, "moves": sorted(offer.moves), "rest": round(sum(each.seconds for each in rest))},
            hours={name: float(each) for name, each in hours.items()},
        )
        Piece.objects.bulk_create(_rows(made, given, offer), batch_size=500)
    return made


def _rows(made: Split, given: Sequence, offer: Offer) -> list[Piece]:
    given = sorted(given, key=lambda each: (not each[0].urgent, offer.order[each[0].clip], each[0].key))
    return [
        Piece(
            split=made,
            clip_id=piece.clip,
            in_frame=offer.spans[piece.key].in_frame,
            out_frame=offer.spans[piece.key].out_frame,
            logger=logger,
            place=place,
            second=piece.second,
        )
        for place, (piece, logger) in enumerate(given)
    ]


def _checked(wanted: Mapping) -> dict:
    told = {name: sorted({str(each).replace("\0", "") for each in wanted.get(name) or ()}) for name in _LISTS}
    for name in ("days", "urgent_days"):
        for day in told[name]:
            try:
                date.fromisoformat(day)
            except ValueError:
                raise Refusal(f"{day[:20]!r} is not a date; write it as 2026-11-12.", "wanted") from None
    told |= {name: bool(wanted.get(name)) for name in _SWITCHES}
    minutes = wanted.get("minutes_an_hour", 60)
    if isinstance(minutes, bool) or not isinstance(minutes, int | float) or not 0 <= minutes <= 600:
        raise Refusal("Minutes of footage to an hour go from 1 to 600; 0 hands out all of it.", "minutes_an_hour")
    return {**told, "minutes_an_hour": minutes}


def _loggers(production: Production, hours: Mapping[str, float]) -> list[Person]:
    if not hours:
        raise Refusal("Choose at least one logger, and say how many hours they have.", "hours")
    found = {person.username: person for person in loggers_of(production)}
    for name, given in hours.items():
        if name not in found:
            raise Refusal(f"{name[:60]!r} cannot take footage of {production.code}.", "hours")
        if not 0 < given <= MOST_HOURS:
            raise Refusal(f"{name} cannot have {given:g} hours; more than 0 and up to {MOST_HOURS}.", "hours")
    return [found[name] for name in sorted(hours)]


def move(person: Person, made: Split, version: int, moves: Mapping[int, str | None]) -> Split:
    """Give pieces, by id, to loggers by name, or to nobody (None), if the split still is at `version`."""
    access.require(person, made.production, roles.HAND_OUT)
    with transaction.atomic():
        locked = open_at(made, version)
        pieces = {piece.id: piece for piece in locked.pieces.select_related("clip__card") if piece.id in moves}
        people = {each.username: each for each in loggers_of(locked.production)}
        for piece_id, name in moves.items():
            piece = pieces.get(piece_id)
            if piece is None:
                raise NotFound("There is no such piece in this split; load the page again.", "moves")
            if name is not None and name not in people:
                raise Refusal(f"{name[:60]!r} cannot take footage of {locked.production.code}.", "moves")
            piece.logger = people[name] if name is not None else None
        Piece.objects.bulk_update(pieces.values(), ["logger"], batch_size=500)
        _refuse_own_second_looks(locked, [each for each in pieces.values() if each.logger_id])
        _next_version(locked)
    return locked


def loggers_of(production: Production) -> list[Person]:
    """Who can be given footage, by name."""
    may = [role for role in roles.ROLES if roles.may({role}, roles.TAKE_STINTS)]
    people = Person.objects.filter(is_active=True, memberships__production=production, memberships__role__in=may)
    return list(people.distinct().order_by("username"))


def _refuse_own_second_looks(made: Split, pieces: Sequence[Piece]) -> None:
    looked_at_twice = set(made.pieces.filter(second=True).values_list("clip", flat=True))
    for piece in (each for each in pieces if each.clip_id in looked_at_twice):
        same = made.pieces.filter(clip=piece.clip_id, logger=piece.logger_id, second=not piece.second)
        if same.filter(in_frame__lt=piece.out_frame, out_frame__gt=piece.in_frame).exists():
            raise Refusal(
                f"{piece.logger} would have the first and the second look at {piece.clip.name} of "
                f"{piece.clip.card.name}: give one of them to somebody else.",
                "moves",
            )


def discard(person: Person, made: Split) -> Split:
    """Close a proposal of which nobody is given anything. Twice is once."""
    access.require(person, made.production, roles.HAND_OUT)
    with transaction.atomic():
        locked = Split.objects.select_for_update().get(id=made.id)
        if locked.state == Split.State.DISCARDED:
            return locked
        if locked.state == Split.State.ACCEPTED:
            raise Refusal("This split was accepted already: take its stints back one by one.", "state")
        settle(person, locked, Split.State.DISCARDED)
    return locked


def open_at(made: Split, version: int) -> Split:
    """The split, locked and still a proposal at `version`."""
    locked = Split.objects.select_for_update(of=("self",)).select_related("production").get(id=made.id)
    if locked.state != Split.State.PROPOSED:
        raise Refusal(f"This split was {locked.state} already; make another one.", "state")
    if locked.version != version:
        raise Conflict("Somebody moved pieces of this split since you saw it; look at it and do it again.", locked)
    return locked


def _next_version(made: Split) -> None:
    made.version += 1
    made.save(update_fields=["version"])


def settle(person: Person, made: Split, state: str) -> None:
    """Close a split that is locked and open."""
    made.state, made.settled_by, made.settled_at = state, person, timezone.now()
    made.save(update_fields=["state", "settled_by", "settled_at"])
