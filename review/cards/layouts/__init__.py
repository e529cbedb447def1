"""Card layouts. A new one is a module with LABEL, recognises(tree) and read(tree), and a place in LAYOUTS."""

from review.cards.findings import STOP, Finding
from review.cards.layouts import avchd, plain, sound
from review.cards.layouts.base import ClipPlan, LayoutReading
from review.cards.tree import CardTree

LAYOUTS = (avchd, plain, sound)  # the first that recognises the card reads it

__all__ = ["LAYOUTS", "ClipPlan", "LayoutReading", "read_layout"]


def read_layout(tree: CardTree) -> LayoutReading:
    """Which clips the card holds, and what its layout shows to be missing."""
    if not tree.files:
        return LayoutReading("", findings=(_empty_card(),))
    for layout in LAYOUTS:
        if layout.recognises(tree):
            reading = layout.read(tree)
            if reading.clips:
                return reading
            return LayoutReading(reading.layout, findings=(*reading.findings, _no_footage(len(tree.files))))
    return LayoutReading("", findings=(_no_footage(len(tree.files)),))


def _empty_card() -> Finding:
    return Finding(
        "empty-card",
        STOP,
        "The card folder is empty: it holds no file at all.",
        "Look at the card itself; if there is footage on it, copy it again. Do not wipe it before you know.",
    )


def _no_footage(count: int) -> Finding:
    return Finding(
        "no-footage",
        STOP,
        f"No footage was found among the card's {count:,} files: no video or sound of a kind that is known here.",
        "Make sure that the whole card was copied. If it holds stills or another camera's files, ask whoever shot it.",
    )
