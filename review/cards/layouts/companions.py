"""Small files that lie beside footage and belong to it, where no index says so: by their names alone."""

import re
from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Set

from review.cards.findings import CAUTION, STOP, Finding
from review.cards.layouts.base import COPY_AGAIN, extension, folder_of, stem

VIDEO = frozenset({".mov", ".mp4", ".m4v", ".mxf", ".avi", ".mkv", ".mpg", ".mpeg"})
SOUND = frozenset({".wav", ".bwf"})
# What a camera writes with each clip and not with a still: description, thumbnail, small copy, flight or position data.
INFO = frozenset({".xml", ".thm", ".moi", ".lrv", ".srt", ".bim"})

_NUMBERED_XML = re.compile(r"(.+)m\d\d")  # C0001M01.XML belongs to C0001.MP4


class Companions:
    """Which of a card's files belong to which footage: those of its stem in its folder."""

    def __init__(self, paths: Iterable[str]):
        self._by_key: dict[tuple[str, str], list[str]] = defaultdict(list)
        for path in paths:
            if extension(path) not in VIDEO | SOUND:
                for key in _keys(path):
                    self._by_key[key].append(path)

    def of(self, footage: str) -> tuple[str, ...]:
        return tuple(self._by_key[folder_of(footage), _stem(footage)])


def uneven(paths: Iterable[str], footage: Set[str], shared: Callable[[str], str] = lambda stem: stem) -> list[Finding]:
    """Where most of a folder's footage has a companion of a kind, the footage that has none, and the reverse.

    `shared` gives, of a stem in lower case, what footage and companion have in common. A companion alone counts only
    if its name is of the same shape as those that are not, so that a note or a report that somebody added does not.
    """
    by_folder: dict[str, list[str]] = defaultdict(list)
    for path in paths:
        by_folder[folder_of(path)].append(path)
    findings = []
    for inside in by_folder.values():
        clips = {shared(_stem(path)): path for path in inside if path in footage and extension(path) in VIDEO}
        others = {shared(_stem(path)) for path in inside if extension(path) not in INFO}
        owners = {path: _owner(path, shared, others) for path in inside if extension(path) in INFO}
        for kind in sorted({extension(path) for path in owners}):
            alike = {path: owner for path, owner in owners.items() if extension(path) == kind}
            accompanied = clips.keys() & alike.values()
            if len(accompanied) < 2 or 2 * len(accompanied) <= len(clips):
                continue
            shapes = {_shape(path) for path, owner in alike.items() if owner in clips}
            findings += [_alone(path, kind) for name, path in clips.items() if name not in accompanied]
            findings += [
                _without_footage(path) for path, owner in alike.items() if not owner and _shape(path) in shapes
            ]
    return findings


def _keys(path: str) -> list[tuple[str, str]]:
    folder, own = folder_of(path), _stem(path)
    numbered = _NUMBERED_XML.fullmatch(own) if extension(path) == ".xml" else None
    return [(folder, own), (folder, numbered[1])] if numbered else [(folder, own)]


def _owner(path: str, shared: Callable[[str], str], names: Collection[str]) -> str | None:
    """Which of `names` a companion belongs to."""
    return next((name for _, own in _keys(path) if (name := shared(own)) in names), None)


def _stem(path: str) -> str:
    return stem(path).casefold()


def _shape(path: str) -> str:
    return re.sub(r"\d", "0", _stem(path))


def _alone(path: str, kind: str) -> Finding:
    what = f"{path} came without the {kind[1:].upper()} file that the footage beside it has."
    next_step = "Look at the card: if the file is there, copy the whole card again."
    return Finding("missing-companion", CAUTION, what, next_step, path)


def _without_footage(path: str) -> Finding:
    what = f"{path} came without the footage that it belongs to; the files of its kind beside it have theirs."
    return Finding("missing-footage", STOP, what, COPY_AGAIN, path)
