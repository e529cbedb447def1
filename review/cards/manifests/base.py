"""What came with a card to compare it with, gathered from all its checksum lists and histories."""

import os
import unicodedata
from dataclasses import dataclass, field
from pathlib import Path

from review.cards.findings import CAUTION, NOTE, STOP, Finding
from review.cards.manifests.ascmhl_folders import FolderRecord
from review.cards.manifests.listed import MAX_BYTES
from review.cards.reading import read_small
from review.cards.tree import HISTORY_FOLDER, CardTree, is_litter, is_utf8

MOST_BYTES = 512 * 1024 * 1024  # of all lists that came with a card; histories are not counted


@dataclass
class Checksums:
    """Filled by each reader in turn. Paths are below the card folder, spelled as the tree spells them."""

    tree: CardTree
    expected: dict[str, dict[str, str]] = field(default_factory=dict)  # path -> algorithm -> digest
    vouched: set[str] = field(default_factory=set)  # of these, the paths that somebody other than ourselves vouches for
    sizes: dict[str, int] = field(default_factory=dict)  # bytes, where a manifest says
    sources: list[str] = field(default_factory=list)  # the manifests: paths below the folder, or '../name' beside it
    ignored: set[str] = field(default_factory=set)  # files that a history leaves out on purpose
    findings: list[Finding] = field(default_factory=list)
    folder_records: list[FolderRecord] = field(default_factory=list)  # what histories say of whole folders
    _told: set[Finding] = field(default_factory=set)
    _bytes_left: int = MOST_BYTES
    _origins: dict[tuple[str, str], str] = field(default_factory=dict)

    def __post_init__(self):
        # Macs write names decomposed, others composed: the same name to everyone but the disk.
        self._spellings = {unicodedata.normalize("NFC", path): path for path in self.tree.sizes}

    def read_list(self, source: str) -> bytes:
        """The bytes of a list, by its path from the card folder. Raises OSError (with `strerror`)."""
        data = read_small(self.tree.folder / source, min(MAX_BYTES, self._bytes_left))
        self._bytes_left -= len(data)
        return data

    def spelled(self, path: str) -> str:
        """`path` as the tree spells it, or as it came when the tree has no such file."""
        if path in self.tree.sizes:
            return path
        return self._spellings.get(unicodedata.normalize("NFC", path), path)

    def expect(self, path: str, algorithm: str, digest: str, source: str, *, own: bool = False) -> None:
        """Add one digest. Two that contradict each other make a finding, and the first stays.

        `own`: we wrote it when we sealed the card. It tells what was altered since, and proves nothing of the copy that
        was sealed.
        """
        path = self.spelled(path)
        if path not in self.tree.sizes and self._is_not_of_the_card(path):
            return
        if not own:
            self.vouched.add(path)
        known = self.expected.setdefault(path, {}).setdefault(algorithm, digest)
        origin = self._origins.setdefault((path, algorithm), source)
        if known != digest:
            self.stop(
                "lists-disagree",
                f"{path} has two different {algorithm} checksums, in {origin} and in {source}: one of them is wrong.",
                "Find out which list was made from the card itself; take the other away, then check again.",
                path,
            )

    def _is_not_of_the_card(self, path: str) -> bool:
        """Lists of everything in a folder name what is no camera's too, and what vouches for itself."""
        parts = path.split("/")
        if any(is_litter(part) for part in parts):
            what = f"{path} is listed, but an operating system left it there; it was not compared."
            self._tell(Finding("litter", NOTE, what, "", path))
            return True
        return HISTORY_FOLDER in parts[:-1] and (self.tree.folder / path).is_file()

    def stop(self, code: str, what: str, next_step: str, where: str) -> None:
        self._tell(Finding(code, STOP, what, next_step, where))

    def caution(self, code: str, what: str, next_step: str, where: str) -> None:
        self._tell(Finding(code, CAUTION, what, next_step, where))

    def _tell(self, finding: Finding) -> None:
        if finding not in self._told:
            self._told.add(finding)
            self.findings.append(finding)


def is_named_after(name: str, folder: str) -> bool:
    """Whether a list called `name` is about the card in `folder`: KB04-261112-A03.md5, KB04-261112-A03_2.md5."""
    name, folder = name.casefold(), folder.casefold()
    return name.startswith(folder) and not name[len(folder) : len(folder) + 1].isalnum()


def neighbours(folder: Path) -> tuple[list[str], set[str]]:
    """The names of the files and of the folders beside `folder`; none where they may not be seen."""
    try:
        with os.scandir(folder.parent) as entries:
            entries = [entry for entry in entries if is_utf8(entry.name) and not is_litter(entry.name)]
    except OSError:
        return [], set()
    files = sorted(entry.name for entry in entries if entry.is_file(follow_symlinks=False))
    return files, {entry.name for entry in entries if entry.is_dir(follow_symlinks=False)}
