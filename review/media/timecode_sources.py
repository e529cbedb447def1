"""Where a recording's start timecode was found, which of several is believed, and how to say that they disagree.

The order, with its reasons:
1. clip XML, the camera's own record of the clip: the master of a CONTENTS card, the place to look beside an MP4, and
   the only one that tells of breaks;
2. what the container keeps as timecode, which other programs read too: a timecode track, an MXF material package;
3. BWF's time reference before iXML's copy of it: programs that change a file keep the first right and forget the
   second, so iXML asks its readers for this order; a reference of zero in a file not begun at midnight is none;
4. an MXF source package (what the material was made from) and a tag of the file;
5. the pictures themselves: the camera's data, H.264's picture timing, MPEG-2's groups of pictures, which encoders
   often begin at zero.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from review.timecode import Rate, Timebase, TimecodeError

CLIP_XML = "clip XML"
TIMECODE_TRACK = "timecode track"
MATERIAL_PACKAGE = "MXF material package"
BWF = "BWF time reference"
IXML = "iXML"
SOURCE_PACKAGE = "MXF source package"
FILE_TAG = "timecode tag of the file"
CAMERA_DATA = "camera data in the H.264 stream"
PICTURE_TIMING = "picture timing in the video stream"
PICTURE_GROUPS = "MPEG-2 picture groups"

ORDER = (
    *(CLIP_XML, TIMECODE_TRACK, MATERIAL_PACKAGE, BWF, IXML),
    *(SOURCE_PACKAGE, FILE_TAG, CAMERA_DATA, PICTURE_TIMING, PICTURE_GROUPS),
)
_MOST_NOTES = 8


@dataclass(frozen=True)
class Source:
    """One place (`kind`, of ORDER) that says when frame 0 was: by a label that counts every frame, less `before`
    frames where it belongs to a later one; or by `samples` since midnight, `sample_rate` a second."""

    kind: str
    label: str = ""
    before: int = 0
    samples: int | None = None
    sample_rate: int = 0

    def frame(self, timebase: Timebase) -> int:
        """Frame 0, counted from midnight. Raises TimecodeError for a label that does not exist at `timebase`."""
        if self.samples is None:
            return (timebase.frame(self.label) - self.before) % timebase.frames_per_day
        if not self.sample_rate:
            raise TimecodeError("no sample rate")
        rate = timebase.rate
        # Where a frame does not start on a whole sample recorders write the sample before: that is the frame's, too.
        frame = (self.samples + 1) * rate.numerator // (self.sample_rate * rate.denominator)
        if frame * self.sample_rate * rate.denominator == (self.samples + 1) * rate.numerator:
            frame -= 1  # it starts on a whole sample, and this is the one before
        return frame % timebase.frames_per_day

    @property
    def drop(self) -> bool:
        return ";" in self.label


@dataclass(frozen=True)
class Start:
    """Frame 0 of a clip counted from midnight, where that was found ('' if nowhere), and what there is to say."""

    frame: int
    source: str
    notes: tuple[str, ...] = ()


def ranked(sources: Iterable[Source], rate: Rate | None = None) -> tuple[Source, ...]:
    """`sources` in the order in which they are believed, each once; those last whose labels do not exist at `rate`."""
    return tuple(sorted(dict.fromkeys(sources), key=lambda each: (not _exists(each, rate), ORDER.index(each.kind))))


def _exists(source: Source, rate: Rate | None) -> bool:
    if rate is None:
        return True
    try:
        source.frame(_as_it_counts(source, Timebase(rate)))
    except TimecodeError:
        return False
    return True


def believed(sources: Iterable[Source], timebase: Timebase) -> Start:
    """The first of `sources`, in their order, whose label exists at the timebase; the notes tell of the others."""
    chosen, notes = None, []
    for source in sources:
        try:
            frame = source.frame(_as_it_counts(source, timebase)) % timebase.frames_per_day
        except TimecodeError as problem:
            notes.append(f"the {source.kind} is of no use: {problem}")
            continue
        if chosen is None:
            chosen = (source, frame)
        elif disagreement := _disagreement(*chosen, source, frame, timebase):
            notes.append(disagreement)
    if len(notes) > _MOST_NOTES:
        notes[_MOST_NOTES:] = [f"{len(notes) - _MOST_NOTES} more sources of timecode disagree or are of no use"]
    return Start(chosen[1], chosen[0].kind, tuple(notes)) if chosen else Start(0, "", tuple(notes))


def _as_it_counts(source: Source, timebase: Timebase) -> Timebase:
    """A label knows whether it is drop-frame; samples are counted as the clip is."""
    if source.samples is not None or not timebase.rate.can_drop:
        return timebase
    return Timebase(timebase.rate, source.drop)


def _disagreement(best: Source, first: int, other: Source, frame: int, timebase: Timebase) -> str:
    """What there is to say of a source that is not believed; '' if it agrees."""
    kinds = best.samples is None and other.samples is None and timebase.rate.can_drop
    if kinds and best.drop != other.drop:
        drop = best if best.drop else other
        return (
            f"the {drop.kind} counts drop-frame and the {(other if drop is best else best).kind} does not; "
            f"the {best.kind} is used"
        )
    day = timebase.frames_per_day
    apart = (frame - first + day // 2) % day - day // 2
    if abs(apart) <= (best.samples is not None or other.samples is not None):  # samples may begin within a frame
        return ""
    frames = "frame" if abs(apart) == 1 else "frames"
    return (
        f"timecode disagrees: the {best.kind} says {timebase.label(first)}, the {other.kind} {timebase.label(frame)}, "
        f"{abs(apart):,} {frames} {'later' if apart > 0 else 'earlier'}; the {best.kind} is used"
    )
