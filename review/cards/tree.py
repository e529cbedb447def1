"""What is in a card's folder: every file and folder, without reading any content."""

import os
import stat
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

import xxhash

from review.cards.findings import STOP, Finding

# Left behind by operating systems; never recorded by a camera.
LITTER = (".DS_Store", "._*", ".Spotlight-V100", ".Trashes", ".fseventsd", "System Volume Information", "Thumbs.db")
HISTORY_FOLDER = "ascmhl"  # where ASC MHL keeps manifests; about the card, not of it
HISTORY_PART = ".ascmhl.part"  # the same while it is being written

_LITTER_NAMES = frozenset(name.casefold() for name in LITTER)


class CardUnreadable(ValueError):
    """The card's folder cannot be looked at, at all; the message says why and what to do, in one line."""


@dataclass(frozen=True)
class CardFile:
    path: str  # below the card folder, with '/'
    size: int  # bytes
    modified: float  # seconds since 1970, UTC


@dataclass(frozen=True)
class CardTree:
    folder: Path
    files: tuple[CardFile, ...]  # by path
    folders: tuple[str, ...]  # by path, the empty ones too
    findings: tuple[Finding, ...] = ()

    @cached_property
    def sizes(self) -> dict[str, int]:
        """Bytes of each file by its path."""
        return {file.path: file.size for file in self.files}

    @cached_property
    def total_bytes(self) -> int:
        return sum(file.size for file in self.files)

    @property
    def newest(self) -> float:
        """The latest time a file was written, in seconds since 1970; 0.0 when there is no file."""
        return max((file.modified for file in self.files), default=0.0)

    @cached_property
    def fingerprint(self) -> str:
        """Changes when a file or folder comes, goes, grows or is written again. It does not read the files."""
        facts = [str(self.total_bytes)]
        facts += [f"{file.path}\0{file.size}\0{file.modified}" for file in self.files]
        facts += [f"{folder}/" for folder in self.folders]
        facts += [f"{finding.code}\0{finding.where}" for finding in self.findings]
        return xxhash.xxh128_hexdigest("\0\0".join(facts).encode())


def read_tree(folder: Path) -> CardTree:
    """Look at everything below `folder`; links are told, never followed.

    Raises CardUnreadable when the folder itself is absent, no folder, or closed to us.
    """
    try:
        mode = folder.lstat().st_mode
        if stat.S_ISLNK(mode):
            raise CardUnreadable(f"{folder} is a link, not a card: give the folder that it leads to")
        if not stat.S_ISDIR(mode):
            raise CardUnreadable(f"{folder} is not a folder: give the folder that the card was copied to")
        os.scandir(folder).close()
    except FileNotFoundError:
        raise CardUnreadable(f"{folder} is not there: check the name, and that its disk is connected") from None
    except OSError as problem:
        raise CardUnreadable(
            f"{folder} cannot be opened ({problem.strerror}): ask for permission to read it, or check its disk"
        ) from None
    walk = _Walk(folder)
    walk.visit_all()
    return CardTree(
        folder,
        tuple(sorted(walk.files, key=lambda file: file.path)),
        tuple(sorted(walk.folders)),
        tuple(sorted(walk.findings, key=lambda finding: finding.where)),
    )


def is_litter(name: str) -> bool:
    """Whether a file or folder of this name was left by an operating system."""
    return name.startswith("._") or name.casefold() in _LITTER_NAMES


def is_utf8(name: str) -> bool:
    """Whether the disk's bytes for this name are UTF-8, so that it can be kept and shown."""
    return _printable(name) == name


class _Walk:
    def __init__(self, folder: Path):
        self.folder = folder
        self.files: list[CardFile] = []
        self.folders: list[str] = []
        self.findings: list[Finding] = []
        self._waiting = [""]

    def visit_all(self) -> None:
        while self._waiting:
            prefix = self._waiting.pop()
            try:
                with os.scandir(self.folder / prefix) as entries:
                    for entry in entries:
                        self._visit(entry, f"{prefix}/{entry.name}" if prefix else entry.name)
            except OSError as problem:
                self._unreadable("folder", prefix, problem)

    def _visit(self, entry: os.DirEntry, path: str) -> None:
        if entry.is_symlink():
            self._stop(
                "link",
                path,
                "is a link to somewhere else; a camera card holds none, and it was not followed",
                "Copy the card again from the original, then check again.",
            )
        elif is_litter(entry.name):
            return
        elif not is_utf8(entry.name):
            self._stop(
                "unreadable",
                path,
                "has a name that is not UTF-8, so it can neither be listed nor be found again",
                "Copy the card again with a tool that keeps names, then check again.",
            )
        elif entry.is_dir(follow_symlinks=False):
            if entry.name not in (HISTORY_FOLDER, HISTORY_PART):
                self.folders.append(path)
                self._waiting.append(path)
        elif entry.is_file(follow_symlinks=False):
            try:
                status = entry.stat(follow_symlinks=False)
            except OSError as problem:
                self._unreadable("file", path, problem)
            else:
                self.files.append(CardFile(path, status.st_size, status.st_mtime))
        else:
            self._stop(
                "link",
                path,
                "is neither a file nor a folder (a pipe, a socket or a device); a camera card holds none",
                "Copy the card again from the original, then check again.",
            )

    def _unreadable(self, kind: str, path: str, problem: OSError) -> None:
        self._stop(
            "unreadable",
            path,
            f"is a {kind} that could not be read ({problem.strerror})",
            "Check the disk and who may read it, then check again.",
        )

    def _stop(self, code: str, path: str, what: str, next_step: str) -> None:
        shown = _printable(path)
        self.findings.append(Finding(code, STOP, f"{shown or 'The card folder'} {what}.", next_step, shown))


def _printable(name: str) -> str:
    """`name`, with the bytes that are not UTF-8 written as \\xff."""
    return os.fsencode(name).decode("utf-8", "backslashreplace")
