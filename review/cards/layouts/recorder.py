"""A sound recorder's files: polyphonic WAV, or a take split into a mono file for each track.

Files of one take are one clip: what ran at the same time lies beside the first, what was recorded on and on follows.
They are told by the FAMILY_UID in iXML; without it split tracks by the recorder's habit of numbering them
(T001_1.WAV, T001_2.WAV: common practice, no source) with the same length and the same time reference in bext, and
following parts by a time reference that goes on at the very sample (EBU Tech 3285) where the last part ended.
"""

import re
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from review.cards.findings import CAUTION, STOP, Finding
from review.cards.layouts.base import COPY_AGAIN, ClipPlan, LayoutReading, extension, folder_of, opened, stem
from review.cards.layouts.companions import SOUND, Companions
from review.cards.tree import CardTree
from review.cards.wav_family import WavFacts, read_wav_facts

LABEL = "Sound files"

_NUMBERED = re.compile(r"(.+)_(\d{1,2})")
_DAY = 24 * 60 * 60  # seconds
_SLACK = 50  # parts of a take with one FAMILY_UID go on within a fiftieth of a second


@dataclass(frozen=True)
class _Part:
    """What ran at the same time: a polyphonic file, or one file for each track."""

    paths: tuple[str, ...]
    facts: WavFacts

    @property
    def begins(self) -> int | None:
        return self.facts.time_reference

    @cached_property
    def ends(self) -> int | None:
        """The sample after its last, since midnight."""
        return None if self.begins is None else (self.begins + self.facts.samples) % (_DAY * self.facts.sample_rate)

    @property
    def form(self) -> tuple:
        return folder_of(self.paths[0]), self.facts.sample_rate, self.facts.tracks, len(self.paths)


def recognises(tree: CardTree) -> bool:
    return any(extension(path) in SOUND for path in tree.sizes)


def read(tree: CardTree) -> LayoutReading:
    sound = sorted(path for path in tree.sizes if extension(path) in SOUND)
    facts = {path: found for path in sound if (found := _facts(tree, path))}
    families, alone = defaultdict(list), {}
    for path, found in facts.items():
        if found.family_uid and found.time_reference is not None:
            families[folder_of(path), found.family_uid].append(path)
        else:
            alone[path] = found
    findings: list[Finding] = []
    takes = [take for paths in families.values() for take in _family(paths, facts, findings)]
    takes += _following(_numbered(alone))
    takes += [[_Part((path,), _NOTHING)] for path in sound if path not in facts]
    companions = Companions(tree.sizes)
    plans = sorted((_plan(take, companions) for take in takes), key=lambda plan: plan.files)
    return LayoutReading(LABEL, tuple(plans), tuple(findings), frozenset(sound))


_NOTHING = WavFacts(0, 0, 0, 0)


def _facts(tree: CardTree, path: str) -> WavFacts | None:
    try:
        with opened(tree, path) as file:
            return read_wav_facts(file)
    except (OSError, ValueError):
        return None  # the media probe says what is wrong with it


def _family(paths: list[str], facts: Mapping[str, WavFacts], findings: list[Finding]) -> list[list[_Part]]:
    """The takes that the files of one FAMILY_UID make: more than one if something between them is missing."""
    by_start = defaultdict(list)
    for path in paths:
        by_start[facts[path].time_reference].append(path)
    declared = max(facts[path].total_files for path in paths)
    # Some writers count the parts that follow each other too; no part has fewer tracks than another.
    wanted = max(max(map(len, by_start.values())), declared if len(paths) < declared else 0)
    parts = []
    for beside in by_start.values():
        beside.sort(key=lambda path: (len(facts[path].file_set_index), facts[path].file_set_index, path))
        parts.append(_Part(tuple(beside), facts[beside[0]]))
        if len(beside) < wanted:
            findings.append(_lacks_tracks(beside, wanted))
    takes: list[list[_Part]] = []
    for part in _in_order_of_day(parts):
        before = takes[-1][-1] if takes else None
        if before is not None and _goes_on(before, part, part.facts.sample_rate // _SLACK):
            takes[-1].append(part)
        else:
            if before is not None:
                findings.append(_gap(before, part))
            takes.append([part])
    return takes


def _in_order_of_day(parts: list[_Part]) -> list[_Part]:
    """By their beginning; a take that ran on past midnight starts with the part that no other leads to."""
    parts = sorted(parts, key=lambda part: part.begins or 0)
    for at in range(1, len(parts)):
        if _goes_on(parts[-1], parts[0], parts[0].facts.sample_rate // _SLACK) and not _goes_on(
            parts[at - 1], parts[at], parts[at].facts.sample_rate // _SLACK
        ):
            return parts[at:] + parts[:at]
    return parts


def _goes_on(before: _Part, after: _Part, slack: int) -> bool:
    if before.ends is None or after.begins is None or before.form != after.form or not before.facts.samples:
        return False
    return (after.begins - before.ends + slack) % (_DAY * after.facts.sample_rate) <= 2 * slack


def _numbered(alone: Mapping[str, WavFacts]) -> list[_Part]:
    """Split tracks put together; every other file is a part by itself."""
    groups = defaultdict(list)
    for path, found in alone.items():
        match = _NUMBERED.fullmatch(stem(path))
        if match and found.time_reference is not None:
            form = found.time_reference, found.samples, found.sample_rate, found.tracks
            key = folder_of(path), match[1], *form
            groups[key].append((int(match[2]), path))
        else:
            groups[path,].append((0, path))
    parts = []
    for group in groups.values():
        paths = tuple(path for _, path in sorted(group))
        parts.append(_Part(paths, alone[paths[0]]))
    return parts


def _following(parts: list[_Part]) -> list[list[_Part]]:
    """Parts that go on at the very sample, in takes. Where two could follow, or be followed, none is taken."""
    begin, end = defaultdict(list), defaultdict(list)
    for part in parts:
        if part.begins is not None and part.facts.samples:
            begin[(*part.form, part.begins)].append(part)
            end[(*part.form, part.ends)].append(part)
    after: dict[tuple[str, ...], _Part] = {}
    for key, enders in end.items():
        beginners = begin.get(key, [])
        if len(enders) == len(beginners) == 1:
            after[enders[0].paths] = beginners[0]
    led_to = {part.paths for part in after.values()}
    takes = []
    for part in parts:
        if part.paths not in led_to:
            take = [part]
            while take[-1].paths in after:
                take.append(after[take[-1].paths])
            takes.append(take)
    # A ring (parts that fill a whole day) has no beginning: each is a take.
    seen = {part.paths for take in takes for part in take}
    return takes + [[part] for part in parts if part.paths not in seen]


def _plan(take: list[_Part], companions: Companions) -> ClipPlan:
    files = tuple(part.paths[0] for part in take)
    beside = tuple(part.paths[1:] for part in take)
    sidecars = dict.fromkeys(each for part in take for path in part.paths for each in companions.of(path))
    return ClipPlan("", files, tuple(sidecars), "sound", beside if any(beside) else ())


def _lacks_tracks(beside: list[str], wanted: int) -> Finding:
    what = (
        f"{' and '.join(beside)} belong to a take of {wanted} files side by side, and {len(beside)} of them are here."
        if len(beside) > 1
        else f"{beside[0]} belongs to a take of {wanted} files side by side, and the others are not here."
    )
    return Finding("missing-tracks", STOP, what, COPY_AGAIN, beside[0])


def _gap(before: _Part, after: _Part) -> Finding:
    what = (
        f"{after.paths[0]} belongs to the same take as {before.paths[0]} but does not begin where that ends: a part "
        "between them may be missing. They were kept as clips of their own."
    )
    return Finding("gap-in-take", CAUTION, what, "Look for the missing part on the recorder's card.", after.paths[0])
