"""A sound recorder's card: WAV files, no picture."""

from review.cards.layouts.base import LayoutReading, extension, named
from review.cards.layouts.plain import SOUND, VIDEO, media_plans
from review.cards.tree import CardTree

LABEL = "Sound files"


def recognises(tree: CardTree) -> bool:
    extensions = {extension(file.path) for file in tree.files}
    return bool(extensions & SOUND) and not extensions & VIDEO


def read(tree: CardTree) -> LayoutReading:
    return LayoutReading(LABEL, named(media_plans(tree.sizes)))
