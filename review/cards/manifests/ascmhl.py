"""Reading ASC MHL histories: what earlier generations of manifests say a card's files should be.

    <root>/ascmhl/ascmhl_chain.xml     vouches for each manifest with its c4
    <root>/ascmhl/0001_..._Z.mhl       generation 1, and so on; never changed once written
    <root>/Reels/ascmhl/...            a nested history; a file belongs to the nearest one

ASC Media Hash List specification v1.0. Nothing is written: the standard's own 'verify' would add a generation.
"""

import os
from pathlib import Path, PurePosixPath

from pathspec import GitIgnoreSpec

from review.cards.hashing import hash_bytes
from review.cards.manifests.ascmhl_xml import Generation, OldFormat, parse_chain, parse_manifest
from review.cards.manifests.base import MAX_BYTES, Checksums, is_named_after, neighbours
from review.cards.reading import read_small
from review.cards.tree import HISTORY_FOLDER, is_litter, is_utf8

CHAIN_NAME = "ascmhl_chain.xml"
EXTENSION = ".mhl"

_DO_NOT_TRUST = (
    "Do not trust this copy yet: find out who changed it, or fetch the card with its ascmhl folder again from a copy "
    "made earlier; then check again."
)


def gather(checksums: Checksums) -> None:
    """Add the histories in the card's folders to `checksums`, and tell of .mhl files that cannot serve."""
    tree = checksums.tree
    roots = [root for root in ("", *tree.folders) if _is_folder(tree.folder / root / HISTORY_FOLDER)]
    histories = [_History(checksums, root) for root in roots]
    belongs = {path: _nearest(path, set(roots)) for path in tree.sizes}
    for history in histories:
        history.add_expectations([path for path, root in belongs.items() if root == history.root])

    lone = [file.path for file in tree.files if "/" not in file.path and file.path.lower().endswith(EXTENSION)]
    lone += [
        f"../{name}"
        for name in neighbours(tree.folder)[0]
        if name.lower().endswith(EXTENSION) and is_named_after(name, tree.folder.name)
    ]
    for path in lone:
        _tell_unused(checksums, path)


class _History:
    """One ascmhl folder; `root` is the folder it covers, '' for the card's own."""

    def __init__(self, checksums: Checksums, root: str):
        self.checksums = checksums
        self.root = root
        self.folder = self._below_root(HISTORY_FOLDER)
        self.generations: list[tuple[str, Generation]] = []  # source, content; in order
        self._read()

    def _below_root(self, path: str) -> str:
        return f"{self.root}/{path}" if self.root else path

    def _altered(self, path: str, what: str) -> None:
        self.checksums.stop("manifest-altered", f"{path} {what}", _DO_NOT_TRUST, path)

    def _read(self) -> None:
        chain_path = f"{self.folder}/{CHAIN_NAME}"
        try:
            chain = parse_chain(self._bytes(chain_path))
        except FileNotFoundError:
            self._altered(chain_path, "is missing: without it nothing tells whether the manifests beside it are whole.")
            return
        except (OSError, ValueError) as problem:
            self._altered(chain_path, f"cannot be read: {problem}.")
            return
        if [entry.number for entry in chain] != list(range(1, len(chain) + 1)) or not chain:
            self._altered(chain_path, "does not count its generations from 1 without a gap: some are missing.")
        for entry in chain:
            self._read_manifest(f"{self.folder}/{entry.path}", entry.c4)
        in_chain = {entry.path for entry in chain}
        for name in sorted(os.listdir(self.checksums.tree.folder / self.folder)):
            if name.lower().endswith(EXTENSION) and name not in in_chain and is_utf8(name) and not is_litter(name):
                _tell_unused(self.checksums, f"{self.folder}/{name}")

    def _read_manifest(self, path: str, c4: str) -> None:
        data = self._vouched(path, c4, "the chain")
        if data is None:
            return
        try:
            self.generations.append((path, parse_manifest(data)))
        except ValueError as problem:
            what = f"The manifest {path} cannot be used: {problem}."
            self.checksums.stop("bad-list", what, "Ask whoever made it for the history again.", path)

    def _vouched(self, path: str, c4: str, witness: str) -> bytes | None:
        """The manifest's bytes, if they are those that `witness` saw."""
        try:
            data = self._bytes(path)
        except FileNotFoundError:
            self._altered(path, f"is missing, though {witness} names it.")
        except OSError as problem:
            self._altered(path, f"cannot be read: {problem.strerror}.")
        else:
            if hash_bytes(data, "c4") == c4:
                return data
            self._altered(path, f"was altered after {witness} recorded it; it was not used.")
        return None

    def _bytes(self, path: str) -> bytes:
        return read_small(self.checksums.tree.folder / path, MAX_BYTES)

    def add_expectations(self, own_files: list[str]) -> None:
        """`own_files`: the card's files that belong to this history and to no nested one."""
        expected: dict[str, dict[str, list[tuple[str, str]]]] = {}  # path -> algorithm -> (digest, source), in order
        sizes: dict[str, int] = {}
        folders: dict[str, None] = {}
        for source, generation in self.generations:
            self.checksums.sources.append(source)
            moved = {file.path: file.previous_path for file in generation.files if file.previous_path}
            carried = {new: expected.get(old, {}) for new, old in moved.items()}
            for old in moved.values():
                expected.pop(old, None)
            expected |= carried
            for file in generation.files:
                known = expected.setdefault(file.path, {})
                for algorithm, entry in file.hashes.items():
                    if not entry.failed:
                        known.setdefault(algorithm, []).append((entry.digest, source))
                if file.size is not None:
                    sizes.setdefault(file.path, file.size)
            for path, previous in generation.folders:
                folders.pop(previous, None)
                folders[path] = None
            for path, c4 in generation.references:
                self._vouched(self._below_root(path), c4, source)

        is_ignored = self._ignore_rule()
        cut = len(self._below_root("x")) - 1
        self.checksums.ignored.update(path for path in own_files if is_ignored(path[cut:]))
        for path in list(expected):
            if is_ignored(path):
                continue
            for algorithm, digests in expected[path].items():
                for digest, source in digests:
                    self.checksums.expect(self._below_root(path), algorithm, digest, source)
            if path in sizes:
                self.checksums.sizes.setdefault(self.checksums.spelled(self._below_root(path)), sizes[path])
        self._tell_lost_folders([path for path in folders if not is_ignored(f"{path}/")])

    def _ignore_rule(self):
        """The patterns of the latest generation: the list may only grow."""
        patterns = self.generations[-1][1].ignore_patterns if self.generations else []
        try:
            return GitIgnoreSpec.from_lines(patterns).match_file
        except ValueError as problem:
            path = self.generations[-1][0]
            what = f"The ignore patterns of {path} cannot be read ({problem}), so none was followed."
            self.checksums.caution("bad-list", what, "Tell whoever made the manifest.", path)
            return lambda path: False

    def _tell_lost_folders(self, listed: list[str]) -> None:
        """Folders that ever held a file are left to what is said of the file."""
        files = (file.path for _, generation in self.generations for file in generation.files)
        holding = {str(parent) for path in files for parent in PurePosixPath(path).parents}
        here = set(self.checksums.tree.folders)
        for path in listed:
            whole = self._below_root(path)
            if whole not in here and path not in holding:
                what = f"The empty folder {whole} is listed but did not come with the card."
                self.checksums.caution("missing", what, "No file is lost by it; copy whole cards next time.", whole)


def _tell_unused(checksums: Checksums, path: str) -> None:
    """An .mhl file that no chain names."""
    try:
        parse_manifest(read_small(checksums.tree.folder / path, MAX_BYTES))
        reason = "no chain vouches for it"
    except OldFormat as problem:
        reason = str(problem)
    except (OSError, ValueError) as problem:
        reason = f"it cannot be read: {problem}"
    checksums.caution(
        "mhl-not-used",
        f"{path} was not compared with the card: {reason}.",
        "Ask for an ASC MHL history in an ascmhl folder, or for a list of MD5 or xxHash checksums.",
        path,
    )


def _is_folder(path: Path) -> bool:
    return path.is_dir() and not path.is_symlink()


def _nearest(path: str, roots: set[str]) -> str | None:
    folder = path
    while folder:
        folder = folder.rpartition("/")[0]
        if folder in roots:
            return folder
    return None
