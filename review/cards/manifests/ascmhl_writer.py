"""Writing a generation of an ASC MHL history: what sealing a card does.

Only `ascmhl/` folders are written: the card's own, made if there is none, and those of histories nested in it, which
get a generation of their own that the card's refers to (specification v1.0, 5.3.2). A manifest is written under
another name, made safe on the disk and renamed; then the chain likewise. Whenever the power goes, what the chain
names is whole.
"""

import errno
import fcntl
import os
import re
import shutil
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from datetime import UTC, datetime
from pathlib import Path

from review.cards.hashing import hash_bytes
from review.cards.manifests.ascmhl_build import NewGeneration, chain_bytes, manifest_bytes
from review.cards.manifests.ascmhl_history import CHAIN_NAME, History, history_roots, nearest_root, read_history
from review.cards.manifests.ascmhl_plan import CannotWrite, Plan
from review.cards.manifests.ascmhl_xml import TOOL, ChainEntry, parse_manifest
from review.cards.manifests.listed import MAX_BYTES
from review.cards.reading import read_small
from review.cards.tree import HISTORY_FOLDER, HISTORY_PART, read_tree

__all__ = ["CannotWrite", "histories_to_append", "write_generation"]

_NUMBER = re.compile(r"(\d{4,})(?:_.*)?\.mhl")


def histories_to_append(folder: Path) -> dict[str, History]:
    """The histories of the card in `folder` by the folders they cover, the deepest first, each whole; the card's own
    is among them even if it has yet to be made. Raises CannotWrite for one that is not whole."""
    tree = read_tree(folder)
    roots = {"", *history_roots(folder, tree.folders)}
    found = {}
    for root in sorted(roots, key=lambda root: (-root.count("/") if root else 1, root)):
        place = folder / root / HISTORY_FOLDER
        exists = os.path.lexists(place)
        if exists and (place.is_symlink() or not place.is_dir()):
            raise CannotWrite(f"{place.relative_to(folder)} is in the way: it is no folder. Take it away first.")
        history = read_history(folder, root) if exists else History(root)
        if history.troubles:
            raise CannotWrite(f"{history.troubles[0].what} Nothing can be added to a history that is not whole.")
        for path in history.unnamed:
            if _NUMBER.fullmatch(Path(path).name) and not _is_left_by_us(folder, path, history):
                raise CannotWrite(
                    f"{path} is in no chain: another program's writing was cut short. Take it away first."
                )
        found[root] = history
    return found


def write_generation(
    folder: Path,
    hashes: Mapping[str, Mapping[str, str]],
    sizes: Mapping[str, int],
    *,
    tool_version: str,
    tool: str = TOOL,
    started: datetime | None = None,
    author: str = "",
    comment: str = "",
) -> Path:
    """Add a generation to the history of the card in `folder`, or begin one; returns the manifest's path.

    `tool` is what says that it wrote it. `hashes` is {path below folder: {algorithm: digest}} of every file there, just
    worked out, in algorithms from HASH_ORDER; `sizes` gives bytes. `started` is when the reading began (aware; default
    now). A file that earlier generations know is recorded as verified, or as failed, by the hashes that they have of
    it; a file that holds the bytes of one that is gone, as renamed; any other, as original. Raises CannotWrite if the
    history is not whole, ValueError for what the format cannot hold, OSError when it cannot be written.
    """
    started = (started or datetime.now(UTC)).astimezone(UTC)
    with _alone(folder):
        histories = histories_to_append(folder)
        plan = Plan(folder, histories, hashes, sizes)
        made_by = {"tool": tool, "tool_version": tool_version, "author": author, "comment": comment}
        new = {root: plan.generation(root, started, **made_by) for root in histories}
        written: dict[str, tuple[Path, str]] = {}  # the manifest and its c4
        for root, generation in new.items():
            for child in histories:
                if child != root and nearest_root(child, histories.keys()) == root:
                    path, c4 = written[child]
                    relative = path.relative_to(folder / root).as_posix()
                    generation.references.append((relative, c4))
            generation.references.sort()
            written[root] = _write(folder, histories[root], generation)
    return written[""][0]


@contextmanager
def _alone(folder: Path) -> Iterator[None]:
    """Nobody else of us writes this card's history meanwhile. The lock ends with the process, however it ends."""
    descriptor = os.open(folder, os.O_RDONLY | os.O_DIRECTORY | os.O_CLOEXEC)
    try:
        try:
            fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            raise CannotWrite(f"{folder.name} is being sealed by somebody else at this moment.") from None
        except OSError as problem:
            if problem.errno not in (errno.ENOTSUP, errno.ENOLCK, errno.EINVAL, errno.EBADF):
                raise  # some network volumes know no locks
        yield
    finally:
        os.close(descriptor)


def _write(folder: Path, history: History, generation: NewGeneration) -> tuple[Path, str]:
    """Write the next manifest and the chain that names it; returns the manifest's path and c4."""
    number = len(history.chain) + 1
    scope = folder / history.root
    name = f"{number:04}_{scope.name}_{generation.started:%Y-%m-%d_%H%M%SZ}.mhl"
    manifest = manifest_bytes(generation)
    entry = ChainEntry(number, name, hash_bytes(manifest, "c4"))
    chain = chain_bytes([*history.chain, entry])
    target = scope / HISTORY_FOLDER
    if history.chain:
        _tidy(folder, history)
        _put(target / name, manifest)
        _put(target / CHAIN_NAME, chain)
    else:
        _begin(scope, {name: manifest, CHAIN_NAME: chain})
    return target / name, entry.c4


def _begin(scope: Path, files: Mapping[str, bytes]) -> None:
    """The whole folder appears at once, or not at all."""
    part = scope / HISTORY_PART
    shutil.rmtree(part, ignore_errors=True)  # left by a sealing that was cut short
    part.mkdir()
    try:
        for name, data in files.items():
            _write_through(part / name, data)
        _sync_folder(part)
        part.rename(scope / HISTORY_FOLDER)
    except OSError:
        shutil.rmtree(part, ignore_errors=True)
        raise
    _sync_folder(scope)


def _put(path: Path, data: bytes) -> None:
    part = path.with_name(f".{path.name}.part")
    try:
        _write_through(part, data)
        part.replace(path)
    except OSError:
        with suppress(OSError):
            part.unlink()
        raise
    _sync_folder(path.parent)


def _tidy(folder: Path, history: History) -> None:
    """Remove what a sealing of ours that was cut short left, before its number is used again."""
    for part in (folder / history.folder).glob(".*.part"):
        part.unlink()
    for path in history.unnamed:
        if _NUMBER.fullmatch(Path(path).name):  # histories_to_append refuses those of others
            (folder / path).unlink(missing_ok=True)


def _is_left_by_us(folder: Path, path: str, history: History) -> bool:
    """Whether a manifest that the chain does not name is the next one, written by us when we were cut short."""
    if int(_NUMBER.fullmatch(Path(path).name)[1]) != len(history.chain) + 1:
        return False
    try:
        return parse_manifest(read_small(folder / path, MAX_BYTES)).tool == TOOL
    except (OSError, ValueError):
        return False


def _write_through(path: Path, data: bytes) -> None:
    with open(path, "xb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())


def _sync_folder(folder: Path) -> None:
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
