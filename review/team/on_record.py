"""What is on record of a split that was accepted or discarded: its pieces, and what each was given. Nothing of it is
worked out of what people hold or have watched since."""

from dataclasses import dataclass
from fractions import Fraction

from review.models import Clip, Person, Piece, Split


@dataclass(frozen=True)
class Recorded:
    """A piece with its length in seconds, and why nobody was given it, if it was left out."""

    piece: Piece
    seconds: Fraction
    left_out: str

    @property
    def is_part(self) -> bool:
        return self.piece.out_frame - self.piece.in_frame < self.piece.clip.frames


@dataclass(frozen=True)
class Given:
    """What one logger was given, or would have been; `person` is None for what nobody was."""

    person: Person | None
    hours: float
    given: Fraction  # seconds
    pieces: int
    days: int


def pieces(split: Split) -> list[Recorded]:
    """In the order of watching."""
    found = split.pieces.select_related("clip__card", "logger").order_by("place", "id")
    why = split.wanted.get("left_out", {})
    return [
        Recorded(
            piece,
            piece.clip.timebase.rate.seconds(piece.out_frame - piece.in_frame),
            why.get(str(piece.id), ""),
        )
        for piece in found.defer(*(f"clip__{name}" for name in Clip.HEAVY))
    ]


def given(split: Split, recorded: list[Recorded]) -> list[Given]:
    """Everybody who has a piece, by name, and last what nobody was given."""
    theirs: dict[Person | None, list[Recorded]] = {}
    for each in recorded:
        theirs.setdefault(None if each.left_out else each.piece.logger, []).append(each)
    return [
        Given(
            person,
            split.hours.get(person.username, 0.0) if person else 0.0,
            sum((each.seconds for each in theirs[person]), start=Fraction(0)),
            len(theirs[person]),
            len({each.piece.clip.card.shoot_date for each in theirs[person]}),
        )
        for person in sorted(theirs, key=lambda each: (each is None, each and each.username))
    ]
