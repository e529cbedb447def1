"""Checksums that came with a card. Another kind of list is a module with gather(checksums), called here."""

from review.cards.manifests import ascmhl, finding_lists
from review.cards.manifests.ascmhl_folders import differing_folders
from review.cards.manifests.base import Checksums
from review.cards.tree import CardTree

__all__ = ["Checksums", "differing_folders", "gather_checksums"]


def gather_checksums(tree: CardTree) -> Checksums:
    """Everything to compare the card with, from all lists and histories in it and beside it."""
    checksums = Checksums(tree)
    ascmhl.gather(checksums)
    finding_lists.gather(checksums)
    return checksums
