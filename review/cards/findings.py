"""What a check has to say about a card, in words a production assistant understands."""

from dataclasses import asdict, dataclass

STOP = "stop"  # the card is held until it is mended or a person accepts it
CAUTION = "caution"  # trusted, but somebody should know
NOTE = "note"  # told for the record


@dataclass(frozen=True)
class Finding:
    """One thing seen. `code` is stable, for scripts and tests; the other texts are for people."""

    code: str
    severity: str
    what: str
    next: str = ""  # what to do about it
    where: str = ""  # path below the card folder, or "" for the whole card

    def as_dict(self) -> dict:
        return asdict(self)
