"""Cards with an M4ROOT folder (often in PRIVATE): MP4 footage with an XML file for each clip."""

from review.cards.layouts import clip_folders
from review.cards.layouts.base import LayoutReading
from review.cards.tree import CardTree

LABEL = "MP4 with M4ROOT"

_FORMAT = clip_folders.Format(LABEL, "an MP4 card with M4ROOT", "M4ROOT", "CLIP", (".mp4", ".mxf"))


def recognises(tree: CardTree) -> bool:
    return clip_folders.recognises(tree, _FORMAT)


def read(tree: CardTree) -> LayoutReading:
    return clip_folders.read(tree, _FORMAT)
