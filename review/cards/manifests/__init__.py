"""Checksums that came with a card. Another kind of list is a module with gather(checksums), called here."""

from review.cards.manifests import ascmhl, plain_lists
from review.cards.manifests.base import Checksums
from review.cards.tree import CardTree

__all__ = ["Checksums", "gather_checksums"]


def gather_checksums(tree: CardTree) -> Checksums:
    """Everything to compare the card with, from all lists and histories in it and beside it."""
    checksums = Checksums(tree)
    ascmhl.gather(checksums)
    plain_lists.gather(checksums)
    return checksums
