"""Directory hashes of ASC MHL: what a folder as a whole holds, and under which names.

    content    hash of the children's hashes (files) and content hashes (folders)
    structure  hash of each child's hash(name + its hash or structure hash)

Both sort the hashes as text and hash their bytes (specification v1.0, 6.5.2 and appendix G). An empty folder's are
the hash of nothing.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from review.cards.findings import CAUTION, Finding
from review.cards.hashing import digest_bytes, hash_bytes
from review.cards.manifests.ascmhl_history import below
from review.cards.manifests.ascmhl_xml import FolderHash

_MOST_NAMED = 3


def folder_hashes(files: Mapping[str, str], folders: Iterable[str], algorithm: str) -> dict[str, FolderHash]:
    """The hashes of each of `folders`, of those that hold `files` ({path: digest}), and of the root, ''."""
    everywhere = {"", *folders}
    for path in files:
        everywhere.update(parents(path))
    content: dict[str, list[str]] = {folder: [] for folder in everywhere}
    structure: dict[str, list[str]] = {folder: [] for folder in everywhere}

    def put(path: str, of_content: str, of_structure: str) -> None:
        folder, _, name = path.rpartition("/")
        content[folder].append(of_content)
        structure[folder].append(hash_bytes(name.encode() + digest_bytes(of_structure, algorithm), algorithm))

    for path, digest in files.items():
        put(path, digest, digest)
    made = {}
    for folder in sorted(everywhere, key=lambda folder: -folder.count("/") if folder else 1):  # the deepest first
        made[folder] = FolderHash(_of_list(content[folder], algorithm), _of_list(structure[folder], algorithm))
        if folder:
            put(folder, *made[folder])
    return made


def _of_list(digests: list[str], algorithm: str) -> str:
    return hash_bytes(b"".join(digest_bytes(digest, algorithm) for digest in sorted(digests)), algorithm)


def parents(path: str) -> Iterable[str]:
    """The folders that `path` lies in, from the nearest to the root, ''."""
    while path:
        path = path.rpartition("/")[0]
        yield path


@dataclass(frozen=True)
class FolderRecord:
    """What one generation says of whole folders, in one algorithm. Paths are below the history's root."""

    root: str
    source: str  # the manifest
    algorithm: str
    folders: dict[str, FolderHash]
    covered: set[str]  # the files that it saw, in nested histories too, and found right
    known: set[str]  # the files that all generations know
    here: dict[str, str]  # the files of the card that are neither ignored nor outside; -> path below the card folder
    folders_here: list[str]  # likewise
    listed_folders: set[str]  # by this generation, and by nested histories


def differing_folders(record: FolderRecord, hashes: Mapping[str, Mapping[str, str]], right: set[str]) -> list[Finding]:
    """Folders that are not as they were recorded though each file that is known of them is here and `right` (paths
    below the card folder). What a file explains is told of the file; a folder in a folder is told once."""
    files, explained = {}, set()
    for path, whole in record.here.items():
        if whole in right and path in record.known and record.algorithm in hashes.get(whole, ()):
            files[path] = hashes[whole][record.algorithm]
        else:
            explained.update(parents(path))
    for path in (record.known - record.here.keys()) | (record.known ^ record.covered):
        explained.update(parents(path))
    for folder in record.listed_folders - set(record.folders_here):
        explained.update(parents(folder))
    made = folder_hashes(files, record.folders_here, record.algorithm)
    findings: list[Finding] = []
    for folder in sorted(record.folders, key=lambda folder: (-folder.count("/") if folder else 1, folder)):
        if folder not in explained and folder in made and made[folder] != record.folders[folder]:
            findings.append(_differs(record, folder, made[folder]))
            explained.update(parents(folder))
    return findings


def _differs(record: FolderRecord, folder: str, made: FolderHash) -> Finding:
    where = below(record.root, folder)
    shown = where or "The card folder"
    added = [path for path in record.folders_here if path not in record.listed_folders and folder in parents(path)]
    if added:
        named = ", ".join(below(record.root, path) for path in added[:_MOST_NAMED])
        more = f" and {len(added) - _MOST_NAMED:,} more" if len(added) > _MOST_NAMED else ""
        what = f"{shown} holds what its history does not list: {named}{more}, which hold no file."
        return Finding("folder-differs", CAUTION, what, "Find out who made it; no file is lost by it.", where)
    which = "names and places" if made.content == record.folders[folder].content else "contents"
    what = (
        f"Every file in {where or 'the card folder'} agrees with its own checksum, but the folder's hash of its "
        f"{which} in {record.source} is another one."
    )
    next_step = "The list of files may have been changed when the history was written: ask whoever wrote it."
    return Finding("folder-differs", CAUTION, what, next_step, where)
