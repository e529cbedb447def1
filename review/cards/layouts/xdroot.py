"""Discs and cards with an XDROOT folder: MXF footage with an XML file for each clip."""

from review.cards.layouts import clip_folders
from review.cards.layouts.base import LayoutReading
from review.cards.tree import CardTree

LABEL = "MXF with XDROOT"

_FORMAT = clip_folders.Format(LABEL, "an MXF card with XDROOT", "XDROOT", "Clip", (".mxf", ".mp4"))


def recognises(tree: CardTree) -> bool:
    return clip_folders.recognises(tree, _FORMAT)


def read(tree: CardTree) -> LayoutReading:
    return clip_folders.read(tree, _FORMAT)
