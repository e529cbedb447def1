"""Everything in one file that says when its recording started, and what its channels are called.

What the library behind the probing child does not tell (how a timecode track counts, an MXF file's source package,
iXML, XML inside the file) is read here from the file itself: a little of it, by readers that no bytes can harm.
"""

import re
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path

from review.media.camera_data import read_camera_data
from review.media.clip_xml import read_clip_xml
from review.media.ixml import TakeNotes, names_in_description, read_ixml
from review.media.mov_atoms import MovAtoms
from review.media.mxf_packages import package_timecodes
from review.media.originals import open_original
from review.media.timecode_sources import (
    BWF,
    CAMERA_DATA,
    FILE_TAG,
    IXML,
    MATERIAL_PACKAGE,
    PICTURE_GROUPS,
    PICTURE_TIMING,
    SOURCE_PACKAGE,
    TIMECODE_TRACK,
    Source,
)
from review.media.timecode_word import at_full_rate, label_of_word
from review.media.wav_chunks import read_chunks
from review.timecode import Rate, Timebase

MOST_IXML = 1 << 20  # bytes
LONGEST_NAME = 60  # characters
PAIRS = "its timecode counts pairs of frames; it was doubled to count each one"

# What writers put for no name. From files that ffmpeg and others write.
_NO_NAMES = re.compile(r".*(handler|media).*|audio|sound|unknown", re.IGNORECASE)
_MIDNIGHT = ("23:59", "00:00")


@dataclass
class FileFacts:
    """`sources` in any order; `channel_names` has one for each channel, '' where there is none."""

    sources: list[Source] = field(default_factory=list)
    channel_names: tuple[str, ...] = ()
    recorder_rate: str = ""  # as the recorder was set, such as '29.97DF'
    shot_at: str | None = None  # by the camera's own clock
    notes: list[str] = field(default_factory=list)


def file_facts(path: Path, found: dict, rate: Rate | None) -> FileFacts:
    """What the file at `path` says, of which `found` is what the probing child told; `rate` is its pictures'."""
    facts = FileFacts(channel_names=_stream_names(found["sounds"]))
    readers = {"mov": _mov, "mxf": _mxf, "wav": _wav}
    try:
        readers.get(found["container"], _tags)(path, found, rate, facts)
    except OSError as problem:
        facts.notes.append(f"its timecode could not be looked for to the end ({problem.strerror or 'read error'})")
    if rate:
        _pictures(found, rate, facts)
    return facts


def plain_name(name: str) -> str:
    """A channel's name as it is shown: printable, one line, not too long."""
    return " ".join("".join(each if each.isprintable() else " " for each in name).split())[:LONGEST_NAME]


def _stream_names(sounds: list) -> tuple[str, ...]:
    names = []
    for _, channels, _, title in sounds:
        name = plain_name(title)
        name = "" if _NO_NAMES.fullmatch(name) else name
        numbered = [f"{name} {number}" for number in range(1, channels + 1)] if channels > 1 and name else None
        names += numbered or [name] * channels
    return tuple(names)


def _tags(path: Path, found: dict, rate: Rate | None, facts: FileFacts) -> None:
    labels = [found["tags"].get("timecode"), *(label for _, label in found["labels"])]
    facts.sources += [Source(FILE_TAG, label) for label in labels if label]


def _mov(path: Path, found: dict, rate: Rate | None, facts: FileFacts) -> None:
    with open_original(path) as file:
        atoms = MovAtoms(file)
        bases, xml = atoms.timecode_bases(), atoms.clip_xml()
    tracks = [label for kind, label in found["labels"] if kind == "data"]
    if not tracks:
        _tags(path, found, rate, facts)
    if len(bases) != len(tracks):  # which belongs to which is not known
        bases = [0] * len(tracks)
    for label, base in zip(tracks, bases, strict=True):
        _add_counted(facts, TIMECODE_TRACK, label, base, rate)
    for data in (xml, found["xml"].encode()):
        if data and rate:
            _add_clip_xml(facts, data, rate)


def _mxf(path: Path, found: dict, rate: Rate | None, facts: FileFacts) -> None:
    with open_original(path) as file:
        packages = package_timecodes(file)
    for package in packages:
        kind = MATERIAL_PACKAGE if package.material else SOURCE_PACKAGE
        _add_counted(facts, kind, _label(*package[1:]), package.base, rate)
    # A header that was never finished has its metadata at the end, where only the library looks.
    if not any(package.material for package in packages) and "timecode" in found["tags"]:
        facts.sources.append(Source(MATERIAL_PACKAGE, found["tags"]["timecode"]))
    facts.sources += [Source(SOURCE_PACKAGE, label) for _, label in found["labels"]]  # the tape's, by the library


def _wav(path: Path, found: dict, rate: Rate | None, facts: FileFacts) -> None:
    tags, take = found["tags"], TakeNotes()
    with open_original(path) as file:
        chunk = read_chunks(file, (b"iXML",), MOST_IXML).get(b"iXML")
    if chunk is not None:
        try:
            take = read_ixml(chunk)
        except ValueError as problem:
            facts.notes.append(f"its iXML {problem}")
    sample_rate = found["sounds"][0][2]
    reference = tags.get("time_reference", "")
    if reference.isascii() and reference.isdecimal():
        time = tags.get("creation_time", "")[-8:]  # bext has the time of day alone
        if int(reference) or not time or time.startswith(_MIDNIGHT):
            facts.sources.append(Source(BWF, samples=int(reference), sample_rate=sample_rate))
        elif take.samples is None:
            facts.notes.append(f"its BWF time reference is zero, and it was begun at {time}: it is taken for none")
    if take.samples is not None:
        facts.sources.append(Source(IXML, samples=take.samples, sample_rate=take.sample_rate or sample_rate))
    facts.recorder_rate = take.rate_in_words
    names = take.names or names_in_description(tags.get("comment", ""))
    if names:
        channels = len(facts.channel_names)
        facts.channel_names = tuple(plain_name(name) for name in (*names, *[""] * channels)[:channels])


def _pictures(found: dict, rate: Rate, facts: FileFacts) -> None:
    """What the first picture that could be decoded says; it may not be the first of the clip."""
    told = {kind: bytes.fromhex(data) for kind, data in found["in_stream"].items()}
    before = round(Fraction(found["seconds_to_first"]) * rate.fraction)
    if "camera_data" in told:
        camera = read_camera_data(told["camera_data"], rate)
        facts.shot_at = facts.shot_at or camera.shot_at
        facts.sources += [Source(CAMERA_DATA, camera.label, before)] if camera.label else []
        facts.notes += [PAIRS] if camera.pairs else []
    if "picture_timing" in told:
        try:
            # Above 48 a second the library writes pairs, as ST 12-1 does.
            label = label_of_word(told["picture_timing"], rate, pairs=rate.nominal >= 50)
        except ValueError:
            return
        facts.sources.append(Source(PICTURE_TIMING, label, before))
    if "picture_groups" in told and (label := _group_label(told["picture_groups"])):
        facts.sources.append(Source(PICTURE_GROUPS, label, before))


def _group_label(data: bytes) -> str:
    """The timecode of a group of pictures (25 bits, ITU-T H.262 clause 6.2.2.6); '' for zero, which says nothing."""
    bits = int.from_bytes(data, "big")
    hh, mm, ss, ff = bits >> 19 & 0x1F, bits >> 13 & 0x3F, bits >> 6 & 0x3F, bits & 0x3F
    return f"{hh:02}:{mm:02}:{ss:02}{';' if bits >> 24 & 1 else ':'}{ff:02}" if any((hh, mm, ss, ff)) else ""


def _label(frame: int, base: int, drop: bool) -> str:
    rate = Rate(1000 * base, 1001)
    return Timebase(rate, drop and rate.can_drop).label(frame)


def _add_counted(facts: FileFacts, kind: str, label: str, base: int, rate: Rate | None) -> None:
    """Add a label that counts `base` frames a second (0 if that is not known)."""
    try:
        full = at_full_rate(label, base, rate) if base and rate else label
    except ValueError as problem:
        facts.notes.append(f"the {kind} is of no use: it {problem}")
        return
    facts.notes += [PAIRS] if base and rate and base != rate.nominal else []
    facts.sources.append(Source(kind, full))


def _add_clip_xml(facts: FileFacts, data: bytes, rate: Rate) -> None:
    try:
        xml = read_clip_xml(data)
        source = xml and xml.source(rate)
    except ValueError as problem:
        facts.notes.append(f"the clip XML inside the file {problem}")
        return
    if xml:
        facts.shot_at = facts.shot_at or xml.shot_at
    facts.sources += [source] if source else []
