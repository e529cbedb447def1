"""MXF cards with a CONTENTS folder: picture and sound in files of their own, one XML file for each clip.

    CONTENTS/CLIP/NNNNNN.XML      says what the clip is made of
    CONTENTS/VIDEO/NNNNNN.MXF     its picture
    CONTENTS/AUDIO/NNNNNNtt.MXF   its sound, a file for each channel, tt from 00
    CONTENTS/ICON, PROXY, VOICE   thumbnails, small copies and spoken memos: no clips

A recording of more than 4 GB is several clips of one shot, perhaps over several cards. The folders and the elements of
the XML are those that public readers of such cards know; there is no public standard for them.
"""

import re
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field

from review.card_xml import MOST_BYTES
from review.cards.findings import STOP, Finding
from review.cards.layouts import faults
from review.cards.layouts.base import COPY_AGAIN, ClipPlan, LayoutReading, below, extension, folder_of, stem
from review.cards.layouts.contents_xml import ClipXml, parse_clip_xml
from review.cards.layouts.shots import shots
from review.cards.reading import read_small
from review.cards.tree import CardTree

LABEL = "MXF with CONTENTS"

_KINDS = {"clip": ".xml", "video": ".mxf", "audio": ".mxf"}
_BESIDE = ("icon", "proxy", "voice")
_CHANNEL = re.compile(r"\d\d", re.ASCII)
_NAME = 6  # letters and digits; behind them the number of a sound file or memo


@dataclass
class _Structure:
    """One CONTENTS folder: paths by the clip's name, in lower case."""

    root: str
    inside: bool = False  # of what a CONTENTS folder holds, without the folder
    flat: bool = False  # picture and sound files in one folder, and no other
    clip: dict[str, str] = field(default_factory=dict)
    video: dict[str, str] = field(default_factory=dict)
    audio: dict[str, dict[int, str]] = field(default_factory=lambda: defaultdict(dict))  # by channel from 0
    odd: list[str] = field(default_factory=list)  # essence whose name fits no clip
    beside: dict[str, list[str]] = field(default_factory=lambda: defaultdict(list))
    paths: list[str] = field(default_factory=list)

    @property
    def used(self) -> bool:
        return bool(self.clip or self.video or self.audio or self.odd)

    @property
    def certain(self) -> bool:
        """Whether folders that are not in a CONTENTS folder can be nothing else."""
        return bool(self.audio and self.video) or bool(self.clip and (self.audio or self.video))

    @property
    def top_folder(self) -> str:
        return self.root if self.inside else folder_of(self.root)

    def put(self, section: str, path: str) -> None:
        name = stem(path).casefold()
        if section in _BESIDE:
            self.beside[name[:_NAME]].append(path)
        elif extension(path) != _KINDS[section]:
            return  # whatever it is, another layout may look at it
        elif section == "audio":
            if _CHANNEL.fullmatch(name[_NAME:]):
                self.audio[name[:_NAME]][int(name[_NAME:])] = path
            else:
                self.odd.append(path)
        else:
            getattr(self, section)[name] = path
        self.paths.append(path)


def recognises(tree: CardTree) -> bool:
    return bool(_structures(tree))


def read(tree: CardTree) -> LayoutReading:
    plans: list[ClipPlan] = []
    findings: list[Finding] = []
    structures = _structures(tree)
    for structure in structures:
        if structure.inside and not structure.flat:
            findings.append(faults.too_shallow(structure.root, "a CONTENTS folder", "CONTENTS"))
        if structure.clip:
            clips = _read_clips(tree, structure, findings)
            findings += _what_is_missing(structure, clips)
        else:
            clips = {}
            count = len(structure.video) + sum(map(len, structure.audio.values())) + len(structure.odd)
            card = "an MXF card with CONTENTS"
            lacking = "the files that say what each clip is made of (CLIP/*.XML)"
            findings.append(faults.partial_copy(card, "picture and sound files", lacking, structure.root, count))
        runs, said = shots(clips, structure.video)
        findings += said
        plans += [_plan(structure, run) for run in runs]
        plans += _sound_alone(structure)
    taken = frozenset(path for structure in structures for path in structure.paths)
    tops = frozenset(structure.top_folder for structure in structures if not structure.flat)
    return LayoutReading(LABEL, tuple(plans), tuple(findings), taken, tops)


def _structures(tree: CardTree) -> list[_Structure]:
    found: dict[str, _Structure] = {}
    for path in tree.sizes:
        holder = folder_of(path)
        root, section = folder_of(holder), holder.rpartition("/")[2].casefold()
        if section in _KINDS or section in _BESIDE:
            inside = root.rpartition("/")[2].casefold() != "contents"
            found.setdefault(root, _Structure(root, inside)).put(section, path)
    whole = [each for each in found.values() if (each.certain if each.inside else each.used)]
    taken = {path for each in whole for path in each.paths}
    return whole + _flat(path for path in tree.sizes if path not in taken)


def _flat(paths: Iterable[str]) -> list[_Structure]:
    """Pictures and the sound that ran beside them in one folder: told by names such as 0001AA.MXF and 0001AA00.MXF."""
    names: dict[str, dict[str, str]] = defaultdict(dict)
    for path in paths:
        if extension(path) == _KINDS["video"]:
            names[folder_of(path)][stem(path).casefold()] = path
    structures = []
    for folder, inside in names.items():
        pictures = {name for name in inside if len(name) == _NAME and f"{name}00" in inside}
        structure = _Structure(folder, inside=True, flat=True)
        for name, path in inside.items():
            if name in pictures:
                structure.put("video", path)
            elif name[:_NAME] in pictures and _CHANNEL.fullmatch(name[_NAME:]):
                structure.put("audio", path)
        if pictures:
            structures.append(structure)
    return structures


def _read_clips(tree: CardTree, structure: _Structure, findings: list[Finding]) -> dict[str, ClipXml]:
    clips = {}
    for name, path in structure.clip.items():
        if not tree.sizes[path]:
            continue  # told as an empty file
        try:
            clips[name] = parse_clip_xml(read_small(tree.folder / path, MOST_BYTES))
        except (OSError, ValueError) as problem:
            findings.append(faults.unreadable_index("bad-clip-info", "clip information", path, problem))
    return clips


def _what_is_missing(structure: _Structure, clips: dict[str, ClipXml]) -> list[Finding]:
    findings = []
    for name, clip in clips.items():
        written = stem(structure.clip[name])
        if clip.has_picture and name not in structure.video:
            path = below(structure.root, f"VIDEO/{written}.MXF")
            findings.append(faults.missing_footage(path, [structure.clip[name]]))
        for channel in range(clip.sound_files):
            if channel not in structure.audio.get(name, ()):
                path = below(structure.root, f"AUDIO/{written}{channel:02}.MXF")
                findings.append(faults.missing_footage(path, [structure.clip[name]]))
    for name in sorted((structure.video.keys() | structure.audio.keys()) - structure.clip.keys()):
        sound = structure.audio.get(name, {})
        path = structure.video.get(name) or sound[min(sound)]
        findings.append(faults.missing_info(path, f"CLIP/{stem(path)[:_NAME]}.XML"))
    for path in structure.odd:
        what = f"{path} has no name that a sound file of such a card has (a clip's name and two digits)."
        findings.append(Finding("odd-name", STOP, what, COPY_AGAIN, path))
    return findings


def _plan(structure: _Structure, run: list[str]) -> ClipPlan:
    beside = tuple(tuple(path for _, path in sorted(structure.audio.get(name, {}).items())) for name in run)
    sidecars = [path for name in run for path in (structure.clip.get(name), *structure.beside[name[:_NAME]]) if path]
    files = tuple(structure.video[name] for name in run)
    return ClipPlan("", files, tuple(sidecars), sound_files=beside if any(beside) else ())


def _sound_alone(structure: _Structure) -> list[ClipPlan]:
    """Sound without a picture, as it was recorded or because the picture did not come: nothing is hidden."""
    plans = [ClipPlan("", (path,), kind="sound") for path in structure.odd]
    for name in sorted(structure.audio.keys() - structure.video.keys()):
        first, *others = (path for _, path in sorted(structure.audio[name].items()))
        sidecars = [path for path in (structure.clip.get(name), *structure.beside[name]) if path]
        plans.append(ClipPlan("", (first,), tuple(sidecars), "sound", (tuple(others),) if others else ()))
    return plans
