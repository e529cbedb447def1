"""What the next generation of each ASC MHL history on a card is to say."""

from collections.abc import Mapping
from datetime import datetime
from pathlib import Path

from review.cards.hashing import OWN_ALGORITHM
from review.cards.manifests.ascmhl_build import FileEntry, NewGeneration
from review.cards.manifests.ascmhl_folders import folder_hashes, parents
from review.cards.manifests.ascmhl_history import History, Known, below, ignore_rule, nearest_root
from review.cards.manifests.ascmhl_xml import HASH_ORDER, FolderHash
from review.cards.renames import renamed
from review.cards.tree import HISTORY_FOLDER, LITTER, read_tree

_OWN_PATTERNS = (*LITTER, HISTORY_FOLDER, f"{HISTORY_FOLDER}/")


class CannotWrite(ValueError):
    """No generation can be added to the history as it is; the message says why, in words for people."""


class Plan:
    """Which history each file belongs to, and what its next generation says of it."""

    def __init__(
        self,
        folder: Path,
        histories: Mapping[str, History],
        hashes: Mapping[str, Mapping[str, str]],
        sizes: Mapping[str, int],
    ):
        self._sizes = sizes
        self._known: dict[str, Known] = {root: history.known for root, history in histories.items()}
        self._patterns: dict[str, list[str]] = {}
        for root in reversed(histories):  # the card's own first
            above = nearest_root(root, histories.keys()) if root else None
            inherited = [] if above is None else _handed_down(self._patterns[above], above, root)
            grown = (*histories[root].ignore_patterns, *_OWN_PATTERNS, *inherited)
            self._patterns[root] = list(dict.fromkeys(grown))
        self._rules = {root: ignore_rule(patterns) for root, patterns in self._patterns.items()}
        self._hashes = {path: found for path, found in hashes.items() if not self._is_ignored(path)}
        self._folders = [path for path in read_tree(folder).folders if not self._is_ignored(f"{path}/")]
        self._own: dict[str, dict[str, str]] = {root: {} for root in histories}  # path below the root -> whole path
        for path in self._hashes:
            root = nearest_root(path, histories.keys()) or ""
            self._own[root][path[len(root) + 1 if root else 0 :]] = path
        everywhere = [set(found) & set(HASH_ORDER) for found in self._hashes.values()]
        self._folder_algorithms = set.intersection(*everywhere) if everywhere else {OWN_ALGORITHM}
        self._roots = histories.keys()

    def _is_ignored(self, path: str) -> bool:
        for root in parents(path.removesuffix("/")):
            if root in self._rules and self._rules[root](path[len(root) + 1 if root else 0 :]):
                return True
        return False

    def generation(self, root: str, started: datetime, **made_by: str) -> NewGeneration:
        return NewGeneration(
            started=started,
            **made_by,
            ignore_patterns=self._patterns[root],
            files=self._files(root),
            folders=self._folder_hashes(root),
        )

    def _files(self, root: str) -> list[FileEntry]:
        known, own = self._known[root].files, self._own[root]
        lost = {
            path: {algorithm: digests[0][0] for algorithm, digests in hashes.items()}
            for path, hashes in known.items()
            if path not in own and not self._rules[root](path)
        }
        strange = {path: self._hashes[whole] for path, whole in own.items() if path not in known and self._sizes[whole]}
        was = renamed(lost, strange)
        entries = []
        for path, whole in sorted(own.items()):
            before = known.get(was.get(path, path), {})
            actions = _actions(whole, self._hashes[whole], before)
            entries.append(FileEntry(path, self._sizes[whole], actions, was.get(path, "")))
        return entries

    def _folder_hashes(self, root: str) -> dict[str, dict[str, FolderHash]]:
        """Of the root and of every folder that belongs to this history, those that hold a nested one among them."""
        cut = len(root) + 1 if root else 0
        files = {path[cut:]: found for path, found in self._hashes.items() if _is_in(path, root)}
        folders = [path[cut:] for path in self._folders if _is_in(path, root)]
        own = ["", *(path for path in folders if nearest_root(below(root, path), self._roots) == root)]
        made: dict[str, dict[str, FolderHash]] = {path: {} for path in own}
        for algorithm in self._folder_algorithms:
            all_of_them = folder_hashes({path: each[algorithm] for path, each in files.items()}, folders, algorithm)
            for path in own:
                made[path][algorithm] = all_of_them[path]
        return made


def _actions(
    path: str, found: Mapping[str, str], before: Mapping[str, list[tuple[str, str]]]
) -> dict[str, tuple[str, str]]:
    """The hashes to record of a file, with their actions. One in a new algorithm vouches only for bytes that an old
    one has proven (specification 6.5.1)."""
    if not before:
        return {algorithm: (digest, "original") for algorithm, digest in found.items()}
    shared = found.keys() & before.keys()
    if not shared:
        raise CannotWrite(f"{path} must be hashed with {' or '.join(sorted(before))}, which its history has of it.")
    actions = {
        algorithm: (found[algorithm], "verified" if _agrees(found[algorithm], before[algorithm]) else "failed")
        for algorithm in shared
    }
    if all(action == "verified" for _, action in actions.values()):
        actions |= {algorithm: (digest, "verified") for algorithm, digest in found.items() if algorithm not in shared}
    return actions


def _agrees(digest: str, before: list[tuple[str, str]]) -> bool:
    return any(digest == known for known, _ in before)


def _handed_down(patterns: list[str], above: str, root: str) -> list[str]:
    """The patterns of the history of `above` that hold in the one nested in it at `root`, as they read from there."""
    inner = root[len(above) + 1 if above else 0 :] + "/"
    handed = []
    for pattern in patterns:
        bare = pattern.lstrip("!").removeprefix("/")
        if "/" not in pattern.rstrip("/") or bare.startswith("**/"):  # holds at every depth
            handed.append(pattern)
        elif bare.startswith(inner) and len(bare) > len(inner):
            handed.append(f"{'!' if pattern.startswith('!') else ''}/{bare[len(inner) :]}")
    return handed


def _is_in(path: str, root: str) -> bool:
    return not root or path.startswith(f"{root}/")
