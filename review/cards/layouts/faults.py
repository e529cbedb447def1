"""What layouts say in the same words, each with its own code."""

from collections import defaultdict
from collections.abc import Iterable

from review.cards.findings import CAUTION, STOP, Finding
from review.cards.layouts.base import COPY_AGAIN


def place(folder: str) -> str:
    return folder or "the card folder"


def partial_copy(card: str, files: str, lacking: str, folder: str, count: int) -> Finding:
    """Only the media files came: `count` of them in `folder`, without what says whether they are all."""
    what = (
        f"Only the {files} of {card} came ({count:,} in {place(folder)}): {lacking} are missing. "
        "The card was copied in part, and nothing tells whether all its footage is here."
    )
    return Finding("partial-copy", STOP, what, COPY_AGAIN, folder)


def missing_footage(path: str, named_by: Iterable[str], code: str = "missing-footage") -> Finding:
    """Something on the card names footage at `path` that is not there."""
    what = f"The footage {path} is missing; it is named by {' and '.join(named_by)}."
    return Finding(code, STOP, what, COPY_AGAIN, path)


def missing_info(path: str, info: str) -> Finding:
    """Footage without the file `info` that the camera wrote with it."""
    return Finding("missing-clip-info", STOP, f"{path} came without its clip information ({info}).", COPY_AGAIN, path)


def missing_index(path: str, name: str, folder: str) -> Finding:
    return Finding("missing-index", STOP, f"{name} is missing from {place(folder)}.", COPY_AGAIN, path)


def unreadable_index(code: str, kind: str, path: str, problem: Exception) -> Finding:
    """A small file of the card's own that should say what belongs to what."""
    reason = problem.strerror if isinstance(problem, OSError) else f"it {problem}"
    what = f"The {kind} {path} cannot be read: {reason}. It may name footage that is not here."
    return Finding(code, STOP, what, COPY_AGAIN, path)


def too_shallow(folder: str, card: str, missing: str, *, index_lost: str = "") -> Finding:
    """`folder` is the inside of a card's folder `missing`. `index_lost`, a file's name, lay above and did not come."""
    what = (
        f"The card was copied too shallow: what lies in {place(folder)} is the inside of {card}, and the folders above "
        f"it ({missing}) did not come. "
    )
    if index_lost:
        what += f"The card's index ({index_lost}) lay there, so nothing tells whether all its footage is here."
        return Finding("too-shallow", STOP, what, COPY_AGAIN, folder)
    what += "What else lay there on the card is not here."
    return Finding("too-shallow", CAUTION, what, "Look at the card: if it holds more than this, copy it again.", folder)


def used_twice(layout: str, structures: Iterable[tuple[str, str]]) -> list[Finding]:
    """One card has one structure of a kind in use; these are (the folder that the card lies in, the structure's)."""
    roots: dict[str, list[str]] = defaultdict(list)
    for top, root in structures:
        roots[top].append(place(root))
    return [
        Finding(
            "merged-cards",
            CAUTION,
            f"There is footage in {len(paths)} structures of one kind ({layout}): {' and '.join(paths)}. Either two "
            "cards were copied into one folder, or the card went from one camera to another without being formatted.",
            "Ask whoever copied it. If these are two cards, give each a folder of its own.",
            top,
        )
        for top, paths in roots.items()
        if len(paths) > 1
    ]
