"""Checking a card: is this the whole card, unaltered, and can its footage be read? Reads only."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Literal

from review.cards.findings import CAUTION, NOTE, STOP, Finding
from review.cards.hashing import OWN_ALGORITHM, hash_files
from review.cards.layouts import ClipPlan, read_layout
from review.cards.manifests import Checksums, gather_checksums
from review.cards.names import CardName, NameMisfit, parse_card_name
from review.cards.tree import CardTree, read_tree

_SEVERITIES = (STOP, CAUTION, NOTE)
_DO_NOT_WIPE = "Do not wipe the card. Copy this file again from it, then check again."
_WHO_DECIDES = "Whether the card may be wiped is for the production's own rules to say."


@dataclass(frozen=True)
class CheckedFile:
    path: str
    size: int  # bytes
    modified: float  # seconds since 1970
    hashes: dict[str, str]  # algorithm -> digest, worked out now; empty if the file could not be read
    proven: bool  # agrees with every checksum that came for it, and at least one did


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
    probe: Callable[[Path], Any],
    earlier: Mapping[str, Mapping[str, str]] | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> CardReport:
    """Check the card in `folder` against its name, its layout and the checksums that came with it.

    `production` is the code its name should begin with. `probe` reads a media file and raises ValueError,
    with words for people, if it refuses. `earlier` holds the hashes, by path and algorithm, of the time when the
    card was last trusted (none for a file that was known and not trusted): what differs since is said. `progress`
    gets (bytes read, bytes in all), in this thread; what it raises ends the check. Raises CardUnreadable if the
    folder cannot be looked at, at all.
    """
    tree = read_tree(folder)
    check = _Check(tree, list(tree.findings))
    card_name = check.name(production)
    layout = read_layout(tree)
    check.findings += layout.findings
    check.empty_files()
    checksums = gather_checksums(tree)
    check.findings += checksums.findings
    essence = {path for clip in layout.clips for path in clip.essence}
    files = check.hashes(checksums, progress)
    proof = check.coverage(checksums, files, essence)
    check.since(earlier or {}, files, checksums)
    clips = []
    for plan in layout.clips:
        clips.append(check.clip(plan, probe))
        if progress:
            progress(tree.total_bytes, tree.total_bytes)  # the caller may want to end it here
    check.stillness()
    return CardReport(
        name=folder.name,
        card_name=card_name,
        layout=layout.layout,
        findings=tuple(sorted(check.findings, key=lambda finding: _SEVERITIES.index(finding.severity))),
        files=files,
        clips=tuple(clips),
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

    def name(self, production: str | None) -> CardName | None:
        try:
            name = parse_card_name(self.tree.folder.name)
        except NameMisfit as misfit:
            rename = f"Rename the folder to {misfit.nearest}" if misfit.nearest else "Rename the folder"
            next_step = f"{rename} once you are sure which card it is, then check again."
            self._say("name-misfit", STOP, f"The card's name does not fit: {misfit}.", next_step)
            return None
        if production is not None and name.production != production:
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
                self._say("empty-file", STOP, f"{file.path} is empty: it holds no byte.", _DO_NOT_WIPE, file.path)

    def hashes(self, checksums: Checksums, progress: Callable[[int, int], None] | None) -> tuple[CheckedFile, ...]:
        """Read every byte once, and compare."""
        total, done = self.tree.total_bytes, 0

        def report(count: int) -> None:
            nonlocal done
            done += count
            if progress:
                progress(done, total)

        wanted = {path: {OWN_ALGORITHM, *checksums.expected.get(path, ())} for path in self.tree.sizes}
        hashes, failures = hash_files(self.tree.folder, wanted, report)
        for path, reason in failures.items():
            what = f"{path} could not be read to its end ({reason})."
            self._say("unreadable", STOP, what, "Check the disk it is on. " + _DO_NOT_WIPE, path)
        self.unread.update(failures)
        checked = []
        for file in self.tree.files:
            found, expected = hashes.get(file.path, {}), checksums.expected.get(file.path, {})
            wrong = [algorithm for algorithm, digest in expected.items() if found and found[algorithm] != digest]
            if wrong:
                self._altered(file.path, wrong, file.size, checksums.sizes.get(file.path))
            proven = bool(found and expected) and not wrong
            checked.append(CheckedFile(file.path, file.size, file.modified, found, proven))
        return tuple(checked)

    def _altered(self, path: str, algorithms: list[str], size: int, listed_size: int | None) -> None:
        what = f"{path} is not the file that was listed: its {' and '.join(algorithms)} checksum differs."
        if listed_size not in (None, size):
            what += f" It has {size:,} bytes; {listed_size:,} were listed."
        self._say("altered", STOP, what, _DO_NOT_WIPE, path)

    def coverage(self, checksums: Checksums, files: tuple[CheckedFile, ...], essence: set[str]) -> str:
        """What is missing, what nobody vouches for, and so what the comparison is worth."""
        if not checksums.expected:
            if files:
                self._say(
                    "no-checksums",
                    CAUTION,
                    "No checksums came with the card, so there is nothing to compare with: this proves only that the "
                    "copy can be read. It was hashed for next time.",
                    f"Ask for the checksums that were made when the card was copied. {_WHO_DECIDES}",
                )
            return "none"
        for path in sorted(checksums.expected.keys() - self.tree.sizes.keys()):
            self._say("missing", STOP, f"{path} is listed but is not here.", _DO_NOT_WIPE, path)
        unlisted = []
        for file in files:
            if file.path in checksums.expected or file.path in checksums.sources:
                continue
            if file.path in essence:
                what = f"{file.path} is footage that no checksum list covers, so nothing proves this copy of it."
                next_step = f"Ask for its checksum, or compare it with the card. {_WHO_DECIDES}"
                self._say("unproven", STOP, what, next_step, file.path)
                unlisted.append(file.path)
            elif file.path in checksums.ignored:
                what = f"{file.path} was left out of the card's history on purpose."
                self._say("ignored", NOTE, what, "", file.path)
            else:
                what = f"{file.path} is in no checksum list."
                next_step = "Find out whether it came from the card or was added later."
                self._say("unlisted", CAUTION, what, next_step, file.path)
                unlisted.append(file.path)
        listed_are_proven = all(file.proven for file in files if file.path in checksums.expected)
        return "checksums" if listed_are_proven and not unlisted else "partial"

    def since(
        self, earlier: Mapping[str, Mapping[str, str]], files: tuple[CheckedFile, ...], checksums: Checksums
    ) -> None:
        """What is not as it was when the card was last trusted, and no list has told."""
        if not earlier:
            return
        told = {finding.where for finding in self.findings if finding.severity == STOP}
        for file in files:
            was = earlier.get(file.path)
            if was is None:
                what = f"{file.path} was not here when this card was last trusted."
                self._say("added-since", CAUTION, what, "Find out who put it there, and why.", file.path)
            elif file.path not in told and any(was[each] != file.hashes[each] for each in was.keys() & file.hashes):
                what = f"{file.path} is not what it was when this card was last trusted: its checksum differs."
                if file.proven:
                    what += " It agrees with the checksum that came with the card."
                    self._say("mended-since", CAUTION, what, "Find out who copied it again.", file.path)
                else:
                    next_step = "Find out what wrote to this copy. " + _DO_NOT_WIPE
                    self._say("altered-since", STOP, what, next_step, file.path)
        trusted = {path for path, was in earlier.items() if was}
        for path in sorted(trusted - self.tree.sizes.keys() - checksums.expected.keys()):
            what = f"{path} was here when this card was last trusted, and is gone."
            self._say("gone-since", STOP, what, _DO_NOT_WIPE, path)

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
