"""Comparing another folder with what is known of a card, byte for byte. Reads only."""

import unicodedata
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import NamedTuple

import xxhash

from review.cards.findings import CAUTION, STOP, Finding, by_severity
from review.cards.hashing import OWN_ALGORITHM, ReadFile, hash_files
from review.cards.manifests.plain_lists import is_list_name
from review.cards.tree import read_tree

_DO_NOT_COUNT = "Do not count on this copy. Copy the card again, then prove the copy again."


class KnownFile(NamedTuple):
    size: int  # bytes
    digest: str  # by OWN_ALGORITHM


@dataclass(frozen=True)
class CopyReport:
    findings: tuple[Finding, ...]  # stops first
    fingerprint: str  # of the folder's tree
    total_bytes: int

    @property
    def same(self) -> bool:
        return not any(finding.severity == STOP for finding in self.findings)


def is_list(path: str) -> bool:
    """Whether a file is about the card (a checksum list) and not of it."""
    return is_list_name(PurePosixPath(path).name) or path.lower().endswith(".mhl")


def contents_of(sizes: Mapping[str, int]) -> str:
    """The same for every whole copy of a card, whatever its folder is called and whatever checksum lists came with it:
    worked out from the bytes of each file by its path. '' for a folder that holds nothing."""
    facts = [f"{path}\0{sizes[path]}" for path in sorted(sizes) if not is_list(path)]
    return xxhash.xxh128_hexdigest("\0\0".join(facts).encode()) if facts else ""


def compare_copy(
    folder: Path,
    known: Mapping[str, KnownFile],
    *,
    is_original: bool = False,
    beside: Iterable[Path] = (),
    progress: Callable[[int, int], None] | None = None,
    already: Mapping[str, ReadFile] | None = None,
    read: Callable[[str, ReadFile], None] | None = None,
    bytes_per_second: float = 0,
) -> CopyReport:
    """Read every file of `folder` and compare it with `known`, by path below the card's folder.

    With `is_original` the folder is the camera's own card: what it holds beyond `known` was never copied. Checksum
    lists may differ: they are about the card, not of it. `beside` are the card's other folders: what is linked with
    theirs is no copy. `already` are files that an earlier run has read, believed
    where size and time are still the same; `read` is told each file that was read to its end; `progress` gets (bytes
    read, those of `already` with them; bytes in all). Both are called in this thread, and what they raise ends the
    comparison. Raises CardUnreadable if the folder cannot be looked at.
    """
    tree = read_tree(folder)
    findings = list(tree.findings)
    here = {path: size for path, size in tree.sizes.items() if not is_list(path)}
    # Macs write names decomposed, others composed: the same name to everyone but the disk.
    spelled = {unicodedata.normalize("NFC", path): path for path in here}
    wanted = {
        path if path in here else spelled.get(unicodedata.normalize("NFC", path), path): file
        for path, file in known.items()
        if not is_list(path)
    }
    for path in sorted(wanted.keys() - here.keys()):
        findings.append(Finding("missing", STOP, f"{path} is not in this copy.", _DO_NOT_COUNT, path))
    for path in sorted(here.keys() - wanted.keys()):
        if is_original:
            what = f"{path} is on the camera's card and not in the copy that was checked: it was never copied."
            next_step = "Do not wipe the card. Copy it again, whole, and check the new copy."
            findings.append(Finding("not-copied", STOP, what, next_step, path))
        else:
            what = f"{path} is in this copy and was not on the card when it was checked."
            findings.append(Finding("not-of-the-card", CAUTION, what, "Find out where it came from.", path))
    common = sorted(wanted.keys() & here.keys())
    findings += [_linked(path, other) for path, other in _links(folder, common, beside)]
    modified = {file.path: file.modified for file in tree.files}
    digests = {
        path: file.hashes[OWN_ALGORITHM]
        for path, file in (already or {}).items()
        if path in wanted and path in here and (file.size, file.modified) == (here[path], modified[path])
    }
    total, done = sum(here[path] for path in common), sum(here[path] for path in digests)

    def report(count: int) -> None:
        nonlocal done
        done += count
        if progress:
            progress(done, total)

    def finished(path: str, hashes: dict[str, str]) -> None:
        if read:
            read(path, ReadFile(here[path], modified[path], hashes))

    hashes, failures = hash_files(
        folder,
        {path: [OWN_ALGORITHM] for path in common if path not in digests},
        report,
        sizes=here,
        bytes_per_second=bytes_per_second,
        done=finished,
        from_the_medium=True,
    )
    digests |= {path: each[OWN_ALGORITHM] for path, each in hashes.items()}
    for path in common:
        if reason := failures.get(path):
            what = f"{path} could not be read to its end ({reason})."
            findings.append(Finding("unreadable", STOP, what, _DO_NOT_COUNT, path))
        elif digests[path] != wanted[path].digest:
            what = f"{path} is not the same file: its bytes differ from those of the card as it was checked."
            if here[path] != wanted[path].size:
                what = f"{path} is not the same file: it has {here[path]:,} bytes, and had {wanted[path].size:,}."
            findings.append(Finding("altered", STOP, what, _DO_NOT_COUNT, path))
    if read_tree(folder).fingerprint != tree.fingerprint:
        what = "The folder changed while it was being compared: perhaps it was still being copied."
        findings.append(Finding("changed-meanwhile", STOP, what, "Wait until the copy is done, then prove it again."))
    findings = _another_card(findings, len(wanted)) + findings
    return CopyReport(by_severity(findings), tree.fingerprint, tree.total_bytes)


def _links(folder: Path, paths: Iterable[str], beside: Iterable[Path]) -> Iterator[tuple[str, Path]]:
    """Files that are one with a file of another folder (hard links): one flipped bit is flipped in both."""
    for other in beside:
        for path in paths:
            try:
                if (folder / path).samefile(other / path):
                    yield path, other
                    break  # one is enough to know
            except OSError:
                continue


def _linked(path: str, other: Path) -> Finding:
    what = f"{path} is the very file that lies in {other}: a link to it, and no copy."
    return Finding("linked", STOP, what, "Copy the card anew, onto another drive.", path)


def _another_card(findings: list[Finding], files: int) -> list[Finding]:
    """Where nearly nothing agrees it is no bad copy but something else under this name."""
    if not files or sum(each.code in ("missing", "altered") for each in findings) * 10 < files * 9:
        return []
    what = "Hardly a file agrees: this folder holds another card, or nothing of this one."
    return [Finding("another-card", STOP, what, "Find out which card this is, and give it its own name.")]
