"""Which files and folders each ASC MHL history says its folder hashes were made of."""

from bisect import bisect_left
from collections.abc import Iterable, Mapping, Sequence

from review.cards.manifests.ascmhl_folders import FolderRecord, parents
from review.cards.manifests.ascmhl_reader import HistoryReader
from review.cards.manifests.base import Checksums


def add_folder_records(checksums: Checksums, readers: Mapping[str, HistoryReader]) -> None:
    """Add what the histories (by the folders they cover) recorded of whole folders. In each algorithm the last
    generation with folder hashes speaks: what came before described the card as it was then."""
    latest = {root: _latest(reader) for root, reader in readers.items()}
    if not any(latest.values()):
        return
    files, folders, roots = sorted(checksums.tree.sizes), checksums.tree.folders, sorted(readers)
    ignorers = {path: _ignorer(path, readers) for path in (*files, *(f"{folder}/" for folder in folders))}
    covered = _Covered(readers)
    for root, generations in latest.items():
        if not generations:
            continue
        depth, cut = _depth(root), len(f"{root}/") if root else 0

        def counts(path: str, depth: int = depth) -> bool:
            """Whether neither this history nor one nested in it leaves the path out."""
            return ignorers[path] is None or _depth(ignorers[path]) < depth

        inside = [readers[each] for each in (root, *_within(roots, root))]
        here = {path[cut:]: path for path in _within(files, root) if counts(path)}
        folders_here = [path[cut:] for path in _within(folders, root) if counts(f"{path}/")]
        known = {reader.below_root(path)[cut:] for reader in inside for path in reader.known.files}
        nested = {reader.below_root(path)[cut:] for reader in inside[1:] for path in reader.known.folders}
        for algorithm, number in generations.items():
            vouched = readers[root].history.generations[number]
            record = FolderRecord(
                root=root,
                source=vouched.path,
                algorithm=algorithm,
                folders={f.path: f.hashes[algorithm] for f in vouched.generation.folders if algorithm in f.hashes},
                covered={path[cut:] for path in covered.by(root, number)},
                known=known,
                here=here,
                folders_here=folders_here,
                listed_folders=nested | {f.path for f in vouched.generation.folders if f.path},
            )
            checksums.folder_records.append(record)


def _latest(reader: HistoryReader) -> dict[str, int]:
    """By algorithm: the last generation (from 0) that has folder hashes in it."""
    latest: dict[str, int] = {}
    for number, vouched in enumerate(reader.history.generations):
        latest |= {algorithm: number for folder in vouched.generation.folders for algorithm in folder.hashes}
    return latest


def _ignorer(path: str, readers: Mapping[str, HistoryReader]) -> str | None:
    """The root of the deepest history that leaves a path out; None if none does. A folder's path ends in '/'."""
    for root in parents(path.removesuffix("/")):
        if root in readers and readers[root].is_ignored(path[len(root) + 1 :] if root else path):
            return root
    return None


def _depth(root: str) -> int:
    return root.count("/") + 1 if root else 0


def _within(paths: Sequence[str], root: str) -> Iterable[str]:
    """Those of the sorted `paths` that lie in the folder `root`, which is not one of them."""
    if not root:
        return [path for path in paths if path]
    return paths[bisect_left(paths, f"{root}/") : bisect_left(paths, f"{root}0")]  # '0' comes after '/'


class _Covered:
    """The files that a generation, with the nested ones it refers to, saw and found right; from the card folder."""

    def __init__(self, readers: Mapping[str, HistoryReader]):
        self._readers = readers
        self._manifests = {
            vouched.path: (root, number)
            for root, reader in readers.items()
            for number, vouched in enumerate(reader.history.generations)
        }
        self._found: dict[tuple[str, int], set[str]] = {}

    def by(self, root: str, number: int) -> set[str]:
        """Of generation `number`, from 0, of the history that covers `root`."""
        if (root, number) not in self._found:
            reader = self._readers[root]
            generation = reader.history.generations[number].generation
            files = (file for file in generation.files if not any(entry.failed for entry in file.hashes.values()))
            found = {reader.below_root(file.path) for file in files}
            for path in {reader.below_root(reference) for reference, _ in generation.references}:
                nested = self._manifests.get(path)
                if nested and nested[0] != root:  # what lies deeper: a reference cannot lead up or out
                    found |= self.by(*nested)
            self._found[root, number] = found
        return self._found[root, number]
