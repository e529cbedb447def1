"""Checking a card: is this the whole card, unaltered, and can its footage be read? Reads only."""

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Literal

from review.cards import against_lists
from review.cards.against_lists import DO_NOT_WIPE, CheckedFile
from review.cards.findings import STOP, Finding, by_severity
from review.cards.hashing import ReadFile, hash_files
from review.cards.layouts import ClipPlan, read_layout
from review.cards.looking import Looks
from review.cards.manifests import Checksums, gather_checksums
from review.cards.names import CardName, NameMisfit, parse_card_name
from review.cards.tree import CardTree, read_tree


@dataclass(frozen=True)
class CheckedClip:
    plan: ClipPlan
    probes: tuple[Any, ...]  # what `probe` gave for each of the plan's files; () if any was refused
    beside: tuple[tuple[Any, ...], ...] = ()  # the same for each of its sound files, grouped as in the plan


@dataclass(frozen=True)
class CardReport:
    name: str  # the folder's
    card_name: CardName | None  # the same, read; None if it does not fit
    layout: str  # in words; '' if there is no footage
    findings: tuple[Finding, ...]  # stops first, then cautions, then notes
    files: tuple[CheckedFile, ...]
    clips: tuple[CheckedClip, ...]
    proof: Literal["checksums", "partial", "none"]  # every file proven, some, or nothing came to compare with
    manifests: tuple[str, ...]  # the lists it was compared with
    total_bytes: int
    fingerprint: str

    @property
    def held(self) -> bool:
        return any(finding.severity == STOP for finding in self.findings)


def check_card(
    folder: Path,
    *,
    production: str | None,
    name_rule: str = "",
    probe: Callable[[Path], Any],
    earlier: Mapping[str, Mapping[str, str]] | None = None,
    progress: Callable[[int, int], None] | None = None,
    already: Mapping[str, ReadFile] | None = None,
    read: Callable[[str, ReadFile], None] | None = None,
    bytes_per_second: float = 0,
    also: Collection[str] = (),
) -> CardReport:
    """Check the card in `folder` against its name, its layout and the checksums that came with it.

    `production` is the code that its name should say, by the naming rule `name_rule` (the usual one if empty).
    `probe` reads a media file and raises ValueError, with words for people, if it refuses; it is called from other
    threads, soon after the file was hashed, when its bytes are still at hand. `earlier` holds the hashes, by path and
    algorithm, of the time when the card was last trusted (none for a file that was known and not trusted): what
    differs since is said.

    A check that was cut short goes on where it was: `read` is called with each file that was read to its end, and
    `already` is given what `read` was given before. A file counts as read if its size, its time and the hashes that
    are wanted are the same; one that was half read, of however many bytes, is read again from its beginning.

    `progress` gets (bytes read, those of `already` with them; bytes in all). `bytes_per_second` holds the reading
    down; 0 does not. `also` names algorithms that every file is to be hashed with. The other callables are called in
    this thread; what `progress` and `read` raise ends the check.
    Raises CardUnreadable if the folder cannot be looked at, at all.
    """
    tree = read_tree(folder)
    check = _Check(tree, list(tree.findings))
    card_name = check.name(production, name_rule)
    layout = read_layout(tree, name_rule)
    check.findings += layout.findings
    check.empty_files()
    checksums = gather_checksums(tree)
    check.findings += checksums.findings
    essence = {path for clip in layout.clips for path in clip.essence}
    reading = _Reading(check, layout.clips, progress or (lambda done, total: None))
    with Looks(probe, reading.report) as looks:
        hashes = reading.hash(checksums, also, already or {}, read, bytes_per_second, looks)
        clips = reading.clips(looks)
    files, altered = against_lists.compared(tree, checksums, hashes)
    check.findings += altered
    proof, uncovered = against_lists.covered(checksums, files, essence)
    check.findings += uncovered
    check.findings += against_lists.whole_folders(checksums, files)
    check.findings += against_lists.since(earlier or {}, files, checksums, check.findings)
    check.stillness()
    return CardReport(
        name=folder.name,
        card_name=card_name,
        layout=layout.layout,
        findings=by_severity(check.findings),
        files=files,
        clips=clips,
        proof=proof,
        manifests=tuple(checksums.sources),
        total_bytes=tree.total_bytes,
        fingerprint=tree.fingerprint,
    )


@dataclass
class _Check:
    """The steps of one check, in order; each adds what it has seen to `findings`."""

    tree: CardTree
    findings: list[Finding]
    unread: set[str] = field(default_factory=set)  # files that could not be read to the end

    def _say(self, code: str, severity: str, what: str, next_step: str, where: str = "") -> None:
        self.findings.append(Finding(code, severity, what, next_step, where))

    def name(self, production: str | None, rule: str) -> CardName | None:
        try:
            name = parse_card_name(self.tree.folder.name, rule)
        except NameMisfit as misfit:
            rename = f"Rename the folder to {' or '.join(misfit.near)}" if misfit.near else "Rename the folder"
            next_step = f"{rename} once you are sure which card it is, then check again."
            self._say("name-misfit", STOP, f"The card's name does not fit: {misfit}.", next_step)
            return None
        if production is not None and name.production not in ("", production):
            self._say(
                "wrong-production",
                STOP,
                f"The card's name says production {name.production}, but this is {production}.",
                "Find out which production the card belongs to; move it there, or rename its folder.",
            )
        return name

    def empty_files(self) -> None:
        for file in self.tree.files:
            if not file.size:
                self._say("empty-file", STOP, f"{file.path} is empty: it holds no byte.", DO_NOT_WIPE, file.path)

    def clip(self, plan: ClipPlan, probe: Callable[[Path], Any]) -> CheckedClip:
        probes = self._probes(plan.files, probe)
        beside = tuple(self._probes(paths, probe) for paths in plan.sound_files)
        whole = probes and all(len(found) == len(paths) for found, paths in zip(beside, plan.sound_files, strict=True))
        return CheckedClip(plan, probes, beside) if whole else CheckedClip(plan, ())

    def _probes(self, paths: tuple[str, ...], probe: Callable[[Path], Any]) -> tuple[Any, ...]:
        """What `probe` gives for each of `paths`; () if any was refused."""
        probes = []
        for path in paths:
            if path in self.unread or not self.tree.sizes[path]:
                continue  # said already
            try:
                probes.append(probe(self.tree.folder / path))
            except ValueError as problem:
                what = f"{path} cannot be used as footage: {problem}"
                next_step = "Do not wipe the card. Play the file from it; if it plays there, copy it again."
                self._say("unreadable", STOP, what, next_step, path)
        return tuple(probes) if len(probes) == len(paths) else ()

    def stillness(self) -> None:
        if read_tree(self.tree.folder).fingerprint != self.tree.fingerprint:
            self._say(
                "changed-meanwhile",
                STOP,
                "The card's folder changed while it was being checked: perhaps it was still being copied.",
                "Wait until the copy is done, then check again.",
            )


class _Reading:
    """Reading every file once, and having each media file looked at as soon as it is read."""

    def __init__(self, check: _Check, plans: Sequence[ClipPlan], progress: Callable[[int, int], None]):
        self._check = check
        self._tree = check.tree
        self._plans = plans
        self._progress = progress
        self._bytes = 0
        self._total = check.tree.total_bytes
        sound = (path for plan in plans for paths in plan.sound_files for path in paths)
        self._media = {path for plan in plans for path in plan.files}.union(sound)

    def hash(
        self,
        checksums: Checksums,
        also: Collection[str],
        already: Mapping[str, ReadFile],
        read: Callable[[str, ReadFile], None] | None,
        bytes_per_second: float,
        looks: Looks,
    ) -> dict[str, Mapping[str, str]]:
        """The hashes that are wanted of each file; what cannot be read is said."""
        files = {file.path: file for file in self._tree.files}
        wanted = against_lists.wanted_hashes(self._tree, checksums, also)
        hashes: dict[str, Mapping[str, str]] = {}
        for path, was in already.items():
            file = files.get(path)
            if file and was[:2] == (file.size, file.modified) and wanted[path] <= was.hashes.keys():
                hashes[path] = was.hashes
                self._bytes += was.size

        def done(path: str, digests: dict[str, str]) -> None:
            if read:
                read(path, ReadFile(files[path].size, files[path].modified, digests))
            if path in self._media and files[path].size:
                looks.begin(self._tree.folder / path)

        self.report(0)
        rest = {path: algorithms for path, algorithms in wanted.items() if path not in hashes}
        fresh, failures = hash_files(
            self._tree.folder,
            rest,
            self.report,
            sizes=self._tree.sizes,
            bytes_per_second=bytes_per_second,
            done=done,
        )
        for path, reason in failures.items():
            what = f"{path} could not be read to its end ({reason})."
            next_step = f"Check the disk it is on. {DO_NOT_WIPE}"
            self._check.findings.append(Finding("unreadable", STOP, what, next_step, path))
        self._check.unread.update(failures)
        return hashes | fresh

    def report(self, count: int = 0) -> None:
        """Tell of `count` bytes more; the caller may want to end it here."""
        self._bytes += count
        self._progress(self._bytes, self._total)

    def clips(self, looks: Looks) -> tuple[CheckedClip, ...]:
        clips = []
        for plan in self._plans:
            clips.append(self._check.clip(plan, looks.result))
            self.report()
        return tuple(clips)
