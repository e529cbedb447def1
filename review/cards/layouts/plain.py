"""Video files in any folders, with or without companions, and no index that could tell what is missing."""

from review.cards.layouts.base import ClipPlan, LayoutReading, extension
from review.cards.layouts.companions import VIDEO, Companions, uneven
from review.cards.tree import CardTree

LABEL = "Video files"


def recognises(tree: CardTree) -> bool:
    return any(extension(path) in VIDEO for path in tree.sizes)


def read(tree: CardTree) -> LayoutReading:
    footage = frozenset(path for path in tree.sizes if extension(path) in VIDEO)
    companions = Companions(tree.sizes)
    plans = tuple(ClipPlan("", (path,), companions.of(path)) for path in sorted(footage))
    return LayoutReading(LABEL, plans, tuple(uneven(tree.sizes, footage)), footage)
