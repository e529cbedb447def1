"""What a check has to say about a card, in words a production assistant understands."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import asdict, dataclass, replace

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


def by_severity(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Stops first, then cautions, then notes; in their order otherwise."""
    return tuple(sorted(findings, key=lambda finding: (STOP, CAUTION, NOTE).index(finding.severity)))


MOST_ALIKE = 50


def condensed(findings: Iterable[Finding]) -> list[Finding]:
    """The findings in their order, but of one kind no more than MOST_ALIKE, then how many more of it there are.

    A card of 40,000 files that no list covers is one thing to know, not 40,000.
    """
    kept: list[Finding] = []
    counted: Counter[str] = Counter()
    last: dict[str, Finding] = {}
    for finding in findings:
        counted[finding.code] += 1
        last[finding.code] = finding
        if counted[finding.code] <= MOST_ALIKE:
            kept.append(finding)
    for code, count in counted.items():
        if count > MOST_ALIKE:
            alike = max(at for at, finding in enumerate(kept) if finding.code == code)
            more = f"The same is true of {count - MOST_ALIKE:,} more files of this card."
            kept.insert(alike + 1, replace(last[code], what=more, where=""))
    return kept
