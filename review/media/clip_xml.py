"""What a camera wrote about a clip in an XML file beside it (or in it): start timecode, breaks, length.

Two schemas are read, whatever version their namespaces name:
- `NonRealTimeMeta` with an `LtcChangeTable`: words of timecode by frame number (order and flags as in published
  samples: see timecode_word.py), the first at frame 0, one at each break, and often one for the last frame;
- any root with `ClipContent`: StartTimecode as a label, FrameRate such as "59.94i", Duration in frames (element names
  as MediaInfoLib's reader has them; the attribute DropFrameFlag from memory).
"""

import re
from dataclasses import dataclass
from xml.etree.ElementTree import Element

from review.card_xml import child, local_name, parse_card_xml, text_of, whole_number
from review.media.timecode_sources import CLIP_XML, Source
from review.media.timecode_word import at_full_rate, label_of_word
from review.timecode import Rate, Timebase, TimecodeError

_MOST_ENTRIES = 10_000
_BREAKS_TOLD = 5
_FRAME_RATE = re.compile(r"(\d{2,3}(?:\.\d{1,3})?)([ip]?)", re.ASCII)
_LABEL = re.compile(r"\d\d[:;.,]\d\d[:;.,]\d\d[:;.,]\d\d", re.ASCII)
_DATE = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d", re.ASCII)


@dataclass(frozen=True)
class ClipXml:
    """`words` are (frame, four bytes of timecode) in order of frames; `label` is the start where it is given as text.
    Both count `base` frames a second (0 if that is not said): pairs of frames, where the clip has twice as many."""

    base: int = 0
    words: tuple[tuple[int, bytes], ...] = ()
    label: str = ""
    duration: int | None = None  # frames
    shot_at: str | None = None  # ISO, in the camera's own zone

    def source(self, rate: Rate) -> Source | None:
        """The start timecode at the clip's rate; None if the XML has none. Raises ValueError, in words that follow
        "the clip XML", if what it has does not fit the rate."""
        if self.words:
            frame, word = self.words[0]
            return Source(CLIP_XML, self._label(word, rate), before=frame)
        return Source(CLIP_XML, at_full_rate(self.label, self.base or rate.nominal, rate)) if self.label else None

    def notes(self, rate: Rate, frames: int, before: int = 0) -> tuple[str, ...]:
        """What is odd about a file in which `frames` frames were counted, for people. Where it goes on a clip of
        several files, `before` is how many frames came before it."""
        notes = self._breaks(rate, before)
        if self.duration is not None and self.duration != frames:
            notes.append(f"the clip XML says {self.duration:,} frames, and {frames:,} were counted")
        return tuple(notes)

    def _label(self, word: bytes, rate: Rate) -> str:
        pairs = 2 * self.base == rate.nominal
        if self.base != rate.nominal and not pairs:
            raise ValueError(f"counts {self.base} frames a second, and the clip has {rate}")
        try:
            return label_of_word(word, rate, pairs)
        except ValueError:
            raise ValueError(f"has a timecode that is none ({word.hex()})") from None

    def _breaks(self, rate: Rate, before: int) -> list[str]:
        """Where a word is not what the one before it leads to."""
        notes, expected = [], None
        for frame, word in self.words:
            try:
                label = self._label(word, rate)
                timebase = Timebase(rate, ";" in label)
                found = timebase.frame(label)
            except (ValueError, TimecodeError) as problem:
                return [*notes, f"the clip XML {problem} at frame {before + frame:,}"] if frame else notes
            start = (found - frame) % timebase.frames_per_day
            if expected not in (None, start):
                notes.append(f"timecode breaks at frame {before + frame:,}: the clip XML goes on from {label} there")
            expected = start
        if len(notes) > _BREAKS_TOLD:
            notes[_BREAKS_TOLD:] = [f"timecode breaks {len(notes) - _BREAKS_TOLD} times more"]
        return notes


def read_clip_xml(data: bytes) -> ClipXml | None:
    """Read a clip's XML; None if it is XML of another kind. Raises ValueError, in words that follow the file's name,
    for what is not XML."""
    root = parse_card_xml(data)
    if local_name(root) == "NonRealTimeMeta":
        return _non_real_time(root)
    content = root if local_name(root) == "ClipContent" else child(root, "ClipContent")
    return None if content is None else _clip_content(content)


def _non_real_time(root: Element) -> ClipXml:
    table = child(root, "LtcChangeTable")
    fps = whole_number(table.get("tcFps"), 60) if table is not None else None
    words = {}
    for entry in table if table is not None and fps else ():
        frame, value = whole_number(entry.get("frameCount")), entry.get("value", "")
        if local_name(entry) == "LtcChange" and frame is not None and re.fullmatch("[0-9A-Fa-f]{8}", value):
            words.setdefault(frame, bytes.fromhex(value))
        if len(words) == _MOST_ENTRIES:
            break
    duration, created = child(root, "Duration"), child(root, "CreationDate")
    date = _DATE.match(created.get("value", "")) if created is not None else None
    return ClipXml(
        base=fps or 0,
        words=tuple(sorted(words.items())),
        duration=whole_number(duration.get("value")) if duration is not None else None,
        shot_at=date[0] if date else None,
    )


def _clip_content(content: Element) -> ClipXml:
    video = child(content, "EssenceList", "Video")
    rate, label = child(video, "FrameRate"), text_of(video, "StartTimecode")
    label = label if _LABEL.fullmatch(label) else ""
    flags = [each.get("DropFrameFlag", "") for each in (rate, child(video, "StartTimecode")) if each is not None]
    if label and any(flag.lower() == "true" for flag in flags):
        label = f"{label[:8]};{label[9:]}"
    return ClipXml(
        base=_nominal(text_of(video, "FrameRate")), label=label, duration=whole_number(text_of(content, "Duration"))
    )


def _nominal(text: str) -> int:
    """Frames a second, rounded up, of "25p" or of the fields in "59.94i"; 0 if that is not said."""
    written = _FRAME_RATE.fullmatch(text)
    if not written:
        return 0
    try:
        nominal = Rate.parse(written[1]).nominal
    except TimecodeError:
        return 0
    return nominal // 2 if written[2] == "i" else nominal
