"""Card layouts. A new one is a module with LABEL, recognises(tree) and read(tree), and a place in LAYOUTS.

A card may hold several: what one has taken is not shown to the next.
"""

from dataclasses import replace

from review.cards.findings import STOP, Finding
from review.cards.layouts import accidents, avchd, contents, dcf, ends, m4root, plain, recorder, xdroot
from review.cards.layouts.base import ClipPlan, LayoutReading, named
from review.cards.tree import CardTree

LAYOUTS = (avchd, contents, xdroot, m4root, dcf, plain, recorder)

_MOST_TOLD = 3  # layouts of one card

__all__ = ["LAYOUTS", "ClipPlan", "LayoutReading", "read_layout"]


def read_layout(tree: CardTree, name_rule: str = "") -> LayoutReading:
    """Which clips the card holds, and what its layout shows to be missing, cut short or out of place.

    Cards are named by `name_rule` (the usual one if empty).
    """
    if not tree.files:
        return LayoutReading("", findings=(_empty_card(),))
    rest, readings = tree, []
    for layout in LAYOUTS:
        if layout.recognises(rest):
            readings.append(layout.read(rest))
            rest = replace(rest, files=tuple(file for file in rest.files if file.path not in readings[-1].taken))
    clips = named(plan for reading in readings for plan in reading.clips)
    findings = [finding for reading in readings for finding in reading.findings]
    if not clips:
        findings.append(_no_footage(len(tree.files)))
    findings += ends.cut_short(tree, [path for clip in clips for path in clip.essence])
    tops = frozenset(top for reading in readings for top in reading.tops)
    findings += accidents.out_of_place(tree, tops, name_rule)
    structured = {path for reading in readings if reading.tops for path in reading.taken}
    findings += accidents.named_twice(tree, [path for clip in clips for path in clip.essence], structured)
    taken = frozenset(path for reading in readings for path in reading.taken)
    return LayoutReading(_in_words(readings), clips, tuple(findings), taken, tops)


def _in_words(readings: list[LayoutReading]) -> str:
    """The layouts that the card shows; loose files are told only where there is nothing else."""
    known = [reading.layout for reading in readings if reading.layout not in (plain.LABEL, recorder.LABEL)]
    return ", ".join(known[:_MOST_TOLD]) or (readings[0].layout if readings else "")


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
