"""What comparing a card with the lists that came with it says: altered, missing, renamed and new files told apart.

listed, here, agrees          proven
listed, here, differs         altered
listed, not here              missing, or renamed if a file that nobody lists has its bytes
here, not listed              unproven (footage), ignored (on purpose), unlisted (anything else), or renamed
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from review.cards.findings import CAUTION, NOTE, STOP, Finding
from review.cards.hashing import OWN_ALGORITHM
from review.cards.manifests import Checksums, differing_folders
from review.cards.manifests.ascmhl_folders import parents
from review.cards.renames import renamed
from review.cards.tree import CardTree

DO_NOT_WIPE = "Do not wipe the card. Copy this file again from it, then check again."

_WHO_DECIDES = "Whether the card may be wiped is for the production's own rules to say."


@dataclass(frozen=True)
class CheckedFile:
    path: str
    size: int  # bytes
    modified: float  # seconds since 1970
    hashes: dict[str, str]  # algorithm -> digest, worked out now; empty if the file could not be read
    proven: bool  # agrees with every checksum that came for it, and one came that is not our own


def wanted_hashes(tree: CardTree, checksums: Checksums, also: Collection[str] = ()) -> dict[str, set[str]]:
    """The algorithms that each file is to be hashed with, so that everything can be compared after one reading;
    `also` is added for all."""
    expected = checksums.expected
    wanted = {path: {OWN_ALGORITHM, *also, *expected.get(path, ())} for path in tree.sizes}
    lost = [path for path in expected if path not in tree.sizes]
    if lost:  # a file that no list knows may be one of them under another name
        sizes = {checksums.sizes.get(path) for path in lost}
        algorithms = {algorithm for path in lost for algorithm in expected[path]}
        for file in tree.files:
            if file.path not in expected and (None in sizes or file.size in sizes):
                wanted[file.path] |= algorithms
    return wanted


def compared(
    tree: CardTree, checksums: Checksums, hashes: Mapping[str, Mapping[str, str]]
) -> tuple[tuple[CheckedFile, ...], list[Finding]]:
    """Each file as it was found, and those that are not what was listed."""
    files, findings = [], []
    for file in tree.files:
        found, expected = dict(hashes.get(file.path, {})), checksums.expected.get(file.path, {})
        wrong = [algorithm for algorithm, digest in expected.items() if found and found[algorithm] != digest]
        if wrong:
            findings.append(_altered(file.path, wrong, file.size, checksums.sizes.get(file.path)))
        proven = bool(found) and file.path in checksums.vouched and not wrong
        files.append(CheckedFile(file.path, file.size, file.modified, found, proven))
    return tuple(files), findings


def _altered(path: str, algorithms: list[str], size: int, listed_size: int | None) -> Finding:
    what = f"{path} is not the file that was listed: its {' and '.join(algorithms)} checksum differs."
    if listed_size not in (None, size):
        what += f" It has {size:,} bytes; {listed_size:,} were listed."
    return Finding("altered", STOP, what, DO_NOT_WIPE, path)


def covered(checksums: Checksums, files: Sequence[CheckedFile], essence: Collection[str]) -> tuple[str, list[Finding]]:
    """What is missing, what has another name, what nobody vouches for; and so what the comparison is worth."""
    if not checksums.expected:
        return "none", [_no_checksums()] if files else []
    only_own = not checksums.vouched
    here = {file.path for file in files}
    lost = {path: hashes for path, hashes in checksums.expected.items() if path not in here}
    strange = [f for f in files if f.path not in checksums.expected and f.path not in checksums.sources]
    was = renamed(lost, {f.path: f.hashes for f in strange if f.size and f.path not in checksums.ignored})
    findings = [
        Finding("missing", STOP, f"{path} is listed but is not here.", DO_NOT_WIPE, path)
        for path in sorted(lost.keys() - was.values())
    ]
    unlisted = [file.path for file in strange if file.path in essence or file.path not in checksums.ignored]
    findings += [_strange(file.path, was, essence, checksums.ignored) for file in strange]
    if only_own:
        return "none", [*findings, _only_our_seal()]
    sealed = [f.path for f in files if f.path in checksums.expected and f.path not in checksums.vouched]
    findings += [_strange(path, {}, essence, ()) for path in sealed if path in essence]
    unlisted += sealed
    listed_are_proven = all(file.proven for file in files if file.path in checksums.expected)
    return "checksums" if listed_are_proven and not unlisted and not lost else "partial", findings


def _no_checksums() -> Finding:
    return Finding(
        "no-checksums",
        CAUTION,
        "No checksums came with the card, so there is nothing to compare with: this proves only that the "
        "copy can be read. It was hashed for next time.",
        f"Ask for the checksums that were made when the card was copied. {_WHO_DECIDES}",
    )


def _only_our_seal() -> Finding:
    return Finding(
        "no-checksums",
        CAUTION,
        "The only checksums are those that were written here when the card was sealed: they tell what was altered "
        "since, and prove nothing of the copy that was sealed.",
        f"Ask for the checksums that were made when the card was copied. {_WHO_DECIDES}",
    )


def _strange(path: str, was: Mapping[str, str], essence: Collection[str], ignored: Collection[str]) -> Finding:
    """What to say of a file that is in no list."""
    if path in was:
        what = (
            f"{path} holds the very bytes that were listed as {was[path]}: it has another name or place now. Nothing "
            "is lost, but lists and edits that know it by the old name will not find it."
        )
        next_step = "Give it the name and place back that it had on the card, then check again."
        return Finding("renamed", STOP, what, next_step, path)
    if path in essence:
        what = f"{path} is footage that no checksum list covers, so nothing proves this copy of it."
        next_step = f"Ask for its checksum, or compare it with the card. {_WHO_DECIDES}"
        return Finding("unproven", STOP, what, next_step, path)
    if path in ignored:
        return Finding("ignored", NOTE, f"{path} was left out of the card's history on purpose.", "", path)
    what = f"{path} is in no checksum list."
    return Finding("unlisted", CAUTION, what, "Find out whether it came from the card or was added later.", path)


def whole_folders(checksums: Checksums, files: Sequence[CheckedFile]) -> list[Finding]:
    """Folders that are not as a history has them, though each of their files is."""
    hashes = {file.path: file.hashes for file in files}
    right = {file.path for file in files if file.proven}
    findings = [f for record in checksums.folder_records for f in differing_folders(record, hashes, right)]
    # Several algorithms and histories may say it of the same folder, or of one around it.
    told: dict[str, Finding] = {}
    explained: set[str] = set()
    for finding in sorted(findings, key=lambda finding: -finding.where.count("/") if finding.where else 1):
        if finding.where not in explained:
            told.setdefault(finding.where, finding)
            explained.update(parents(finding.where))
    return list(told.values())


def since(
    earlier: Mapping[str, Mapping[str, str]],
    files: Sequence[CheckedFile],
    checksums: Checksums,
    so_far: Sequence[Finding],
) -> list[Finding]:
    """What is not as it was when the card was last trusted, and is not told by the findings `so_far`."""
    findings = []
    if not earlier:
        return findings
    told = {finding.where for finding in so_far if finding.severity == STOP}
    called_renamed = {finding.where for finding in so_far if finding.code == "renamed"}
    here = {file.path: file.hashes for file in files}
    trusted = {path: was for path, was in earlier.items() if was}
    gone = {path: was for path, was in trusted.items() if path not in here and path not in checksums.expected}
    new = [file for file in files if file.path not in earlier and file.path not in called_renamed]
    was_called = renamed(gone, {file.path: file.hashes for file in new if file.size})
    added = {file.path for file in new} - was_called.keys()
    for file in files:
        was = earlier.get(file.path)
        if file.path in was_called:
            what = f"{file.path} was {was_called[file.path]} when this card was last trusted: the same bytes."
            next_step = "Give it its name and place back, then check again."
            findings.append(Finding("renamed-since", STOP, what, next_step, file.path))
        elif file.path in added:
            what = f"{file.path} was not here when this card was last trusted."
            findings.append(Finding("added-since", CAUTION, what, "Find out who put it there, and why.", file.path))
        elif was and file.path not in told and any(was[each] != file.hashes[each] for each in was.keys() & file.hashes):
            findings.append(_altered_since(file))
    for path in sorted(gone.keys() - was_called.values()):
        what = f"{path} was here when this card was last trusted, and is gone."
        findings.append(Finding("gone-since", STOP, what, DO_NOT_WIPE, path))
    return findings


def _altered_since(file: CheckedFile) -> Finding:
    what = f"{file.path} is not what it was when this card was last trusted: its checksum differs."
    if file.proven:
        what += " It agrees with the checksum that came with the card."
        return Finding("mended-since", CAUTION, what, "Find out who copied it again.", file.path)
    next_step = f"Find out what wrote to this copy. {DO_NOT_WIPE}"
    return Finding("altered-since", STOP, what, next_step, file.path)
