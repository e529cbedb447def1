"""Reading the ASC MHL histories of a card: what earlier generations say its files and folders should be."""

from review.cards.manifests.ascmhl_history import history_roots, nearest_root, read_history
from review.cards.manifests.ascmhl_reader import HistoryReader
from review.cards.manifests.ascmhl_records import add_folder_records
from review.cards.manifests.base import Checksums


def gather(checksums: Checksums) -> None:
    """Add the histories in the card's folders to `checksums`, and tell of manifests that cannot serve."""
    tree = checksums.tree
    roots = history_roots(tree.folder, tree.folders)
    if not roots:
        return
    own: dict[str | None, list[str]] = {root: [] for root in (*roots, None)}
    for path in tree.sizes:
        own[nearest_root(path, own.keys())].append(path)
    readers = {root: HistoryReader(checksums, read_history(tree.folder, root)) for root in roots}
    for root, reader in readers.items():
        reader.add(own[root])
    add_folder_records(checksums, readers)
