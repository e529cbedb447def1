"""Video files in any folders, with or without sidecars, and no index that could tell what is missing."""

import re
from collections import defaultdict
from collections.abc import Iterable
from pathlib import PurePosixPath

from review.cards.layouts.base import ClipPlan, LayoutReading, extension, named, stem
from review.cards.tree import CardTree

LABEL = "Video files"
VIDEO = frozenset({".mov", ".mp4", ".m4v", ".mxf", ".avi", ".mkv", ".mpg", ".mpeg"})
SOUND = frozenset({".wav", ".bwf"})

_NUMBERED_XML = re.compile(r"(.+)m\d\d")  # C0001M01.XML belongs to C0001.MP4


def recognises(tree: CardTree) -> bool:
    return any(extension(file.path) in VIDEO for file in tree.files)


def read(tree: CardTree) -> LayoutReading:
    return LayoutReading(LABEL, named(media_plans(tree.sizes)))


def media_plans(paths: Iterable[str]) -> list[ClipPlan]:
    """A plan, not yet named, for every video and sound file; files of its stem beside it are its sidecars."""
    media, others = [], defaultdict(list)
    for path in paths:
        if extension(path) in VIDEO | SOUND:
            media.append(path)
        else:
            for key in _belongs_to(path):
                others[key].append(path)
    return [
        ClipPlan("", (path,), tuple(others[_key(path)]), "video" if extension(path) in VIDEO else "sound")
        for path in media
    ]


def _key(path: str) -> tuple[str, str]:
    return str(PurePosixPath(path).parent), stem(path).casefold()


def _belongs_to(path: str) -> list[tuple[str, str]]:
    folder, own = _key(path)
    numbered = _NUMBERED_XML.fullmatch(own) if extension(path) == ".xml" else None
    return [(folder, own), (folder, numbered[1])] if numbered else [(folder, own)]
