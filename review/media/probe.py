"""What a media file is: its pictures, sound, rate, length and start timecode.

The file is opened by a child process (`probe_child.py`); here its raw findings are given their meaning.
"""

import json
import re
import subprocess
import sys
from collections.abc import Sequence
from dataclasses import asdict, dataclass, replace
from datetime import datetime
from fractions import Fraction
from pathlib import Path

from review.media.camera_data import CameraData, read_camera_data
from review.media.errors import MediaRefused
from review.media.ffmpeg import CONTAINERS, die_with_parent
from review.timecode import STANDARD_RATES, Rate, Timebase, TimecodeError

VIDEO = "video"
SOUND = "sound"

SLOWEST_STORAGE = 20_000_000  # bytes a second; where there is no index the whole file has to be read
LOWEST_RATE, HIGHEST_RATE = 1, 240

_CHILD = Path(__file__).with_name("probe_child.py")
_ISO = re.compile(r"(\d{4}-\d\d-\d\d)[T ](\d\d:\d\d:\d\d)")
_UNSET_CLOCKS = ("1904-", "1970-")  # the zero of a container's clock, not a date


@dataclass(frozen=True)
class AudioStream:
    codec: str
    channels: int
    sample_rate: int
    source: int = 0  # 0: in the file itself; k: in the k-th sound file beside it


@dataclass(frozen=True)
class Probe:
    """One media file. Sizes are in pixels, `frames` at `rate`, `samples` at `sample_rate`; what is unknown is None.

    `width` and `height` are of the coded picture; `aspect` is width over height as it is meant to be seen, after
    `rotation`. `picture_offset` is how many seconds the picture starts after the container. The frames of a clip with
    `variable_rate` are those it has once conformed to `rate`. A sound file has no rate, and its `frames` are 0.
    """

    container: str
    kind: str  # VIDEO or SOUND
    video_codec: str | None
    width: int
    height: int
    aspect: Fraction
    rotation: int  # degrees
    rate: Rate | None
    frames: int
    interlaced: bool
    variable_rate: bool
    picture_offset: Fraction
    audio: tuple[AudioStream, ...]
    samples: int
    start_timecode: str | None  # of the first frame, as found
    drop: bool
    timecode_source: str | None  # for people
    time_reference: int | None  # samples since midnight (EBU Tech 3285)
    shot_at: str | None  # ISO date and time by the camera's or recorder's own clock
    notes: tuple[str, ...] = ()  # for people: what is odd about the file

    @property
    def channels(self) -> int:
        return sum(stream.channels for stream in self.audio)

    @property
    def sample_rate(self) -> int:
        return self.audio[0].sample_rate if self.audio else 0

    def timebase(self, default: Timebase) -> Timebase:
        """The clip's own; sound has none and takes the production's, `default`."""
        return Timebase(self.rate, self.drop) if self.rate else default

    def length(self, timebase: Timebase) -> int:
        """Frames. The last frame of a sound clip may be filled only in part."""
        if self.kind == VIDEO:
            return self.frames
        rate = timebase.rate
        return -(-self.samples * rate.numerator // (self.sample_rate * rate.denominator))

    def start_frame(self, timebase: Timebase) -> int | None:
        """The first frame, counted from midnight; None if the file does not say or its label does not exist."""
        if self.time_reference is not None and self.sample_rate:
            rate = timebase.rate
            frame = self.time_reference * rate.numerator // (self.sample_rate * rate.denominator)
            return frame % timebase.frames_per_day
        try:
            return timebase.frame(self.start_timecode) if self.start_timecode else None
        except TimecodeError:
            return None

    def as_dict(self) -> dict:
        """Plain values for JSON; `from_dict` reads them back."""
        return asdict(self) | {
            "aspect": str(self.aspect),
            "picture_offset": str(self.picture_offset),
            "rate": self.rate and [self.rate.numerator, self.rate.denominator],
            "audio": [asdict(stream) for stream in self.audio],
            "notes": list(self.notes),
        }

    @classmethod
    def from_dict(cls, values: dict) -> "Probe":
        return cls(
            **values
            | {
                "aspect": Fraction(values["aspect"]),
                "picture_offset": Fraction(values["picture_offset"]),
                "rate": Rate(*values["rate"]) if values["rate"] else None,
                "audio": tuple(AudioStream(**stream) for stream in values["audio"]),
                "notes": tuple(values["notes"]),
            }
        )


def joined(probes: Sequence[Probe], beside: Sequence[Probe] = ()) -> Probe:
    """One recording that a camera cut into several files, as if it were one; the first says how it starts.

    `beside` are of the sound files that ran beside the first file: their streams follow those that it holds itself.
    """
    first = probes[0]
    sound = [replace(each, source=number) for number, file in enumerate(beside, start=1) for each in file.audio]
    return replace(
        first,
        audio=(*first.audio, *sound),
        frames=sum(each.frames for each in probes),
        samples=sum(each.samples for each in probes),
        variable_rate=any(each.variable_rate for each in probes),
        notes=tuple(dict.fromkeys(note for each in probes for note in each.notes)),
    )


def probe(path: Path, timeout: float = 60) -> Probe:
    """Look into the file. Raises MediaRefused, naming the file and the reason, for one that cannot be used.

    `timeout` is in seconds and grows with the file by what slow storage needs to read it.
    """
    found = _ask_child(Path(path), timeout)
    try:
        if "refused" in found:
            raise MediaRefused(found["refused"])
        return _understand(found)
    except MediaRefused as refusal:
        raise MediaRefused(f"{Path(path).name} {refusal}") from None


def _ask_child(path: Path, timeout: float) -> dict:
    try:
        size = path.stat().st_size
    except OSError as problem:
        raise MediaRefused(f"{path.name} cannot be opened: {problem.strerror}") from None
    if not path.is_file():
        raise MediaRefused(f"{path.name} is not a file")
    if not size:
        raise MediaRefused(f"{path.name} is empty: it was probably copied in part; copy it again from the card")
    seconds = timeout + size / SLOWEST_STORAGE
    command = [sys.executable, "-P", str(_CHILD), str(path.absolute()), CONTAINERS, str(int(seconds) + 1)]
    try:
        child = subprocess.run(
            command, stdin=subprocess.DEVNULL, capture_output=True, timeout=seconds, preexec_fn=die_with_parent()
        )
    except subprocess.TimeoutExpired:
        raise MediaRefused(
            f"{path.name} could not be read in {seconds:.0f} seconds: the file is damaged, or the storage is too slow"
        ) from None
    try:
        return json.loads(child.stdout)
    except ValueError:
        raise MediaRefused(
            f"{path.name} made its reader break down (code {child.returncode}): the file is damaged; "
            "play it on another machine, or copy it again from the card"
        ) from None


def _understand(found: dict) -> Probe:
    picture, tags, notes = found["picture"], found["tags"], []
    rate, camera = None, CameraData()
    if picture:
        rate = _rate(found)
        if rate not in STANDARD_RATES:
            notes.append(f"{rate} frames a second is not a rate that timecode is defined for")
        if found["variable_rate"]:
            notes.append(f"the frame rate varies; the clip is counted in frames of a steady {rate} a second")
        if found["camera_data"]:
            camera = read_camera_data(bytes.fromhex(found["camera_data"]), rate)
    label, label_source = _label(found, camera)
    if camera.pairs and label == camera.label:
        notes.append("the camera's timecode counts pairs of frames; it was doubled to count each one")
    reference = tags.get("time_reference", "")
    return Probe(
        container=found["container"],
        kind=VIDEO if picture else SOUND,
        video_codec=picture and picture["codec"],
        width=picture["width"] if picture else 0,
        height=picture["height"] if picture else 0,
        aspect=_aspect(picture) if picture else Fraction(0),
        rotation=picture["rotation"] if picture else 0,
        rate=rate,
        frames=_frames(found, rate) if picture else 0,
        interlaced=bool(picture and picture["interlaced"]),
        variable_rate=bool(picture and found["variable_rate"]),
        picture_offset=Fraction(found["offset"]),
        audio=tuple(AudioStream(*stream) for stream in found["sounds"]),
        samples=0 if picture else found["samples"],
        start_timecode=label,
        drop=bool(label and ";" in label and rate and rate.can_drop),
        timecode_source=label_source,
        time_reference=int(reference) if reference.isdecimal() and found["container"] == "wav" else None,
        shot_at=camera.shot_at or _shot_at(tags),
        notes=tuple(notes),
    )


def _rate(found: dict) -> Rate:
    """The standard rate that the pictures keep; for a variable one the closest to its usual step."""
    average, step = Fraction(found["average_rate"]), Fraction(found["usual_step"])
    usual = 1 / step if step > 0 else average
    for value in (average, usual):
        if value > 0:
            try:
                return Rate.nearest(value)
            except TimecodeError:
                pass
    if not LOWEST_RATE <= usual <= HIGHEST_RATE:
        raise MediaRefused(f"has {float(usual):.2f} frames a second; {LOWEST_RATE} to {HIGHEST_RATE} are read")
    if found["variable_rate"]:
        return min(STANDARD_RATES, key=lambda rate: abs(rate.fraction - usual))
    exact = usual.limit_denominator(1001)
    return Rate(exact.numerator, exact.denominator)


def _frames(found: dict, rate: Rate) -> int:
    if found["variable_rate"]:
        return max(1, round(Fraction(found["seconds"]) * rate.fraction))
    return found["pictures"]


def _aspect(picture: dict) -> Fraction:
    aspect = Fraction(picture["width"], picture["height"]) * Fraction(picture["pixel_aspect"])
    return 1 / aspect if picture["rotation"] % 180 else aspect


def _label(found: dict, camera: CameraData) -> tuple[str | None, str | None]:
    """The start timecode and where it was; a timecode track is believed before anything else."""
    for kind, label in found["labels"]:
        if kind == "data":
            return label, "timecode track"
    if label := found["tags"].get("timecode") or next((label for _, label in found["labels"]), None):
        return label, "MXF material package" if found["container"] == "mxf" else "timecode tag of the file"
    if camera.label:
        return camera.label, "camera data in the H.264 stream"
    if found["container"] == "wav" and "time_reference" in found["tags"]:
        return None, "BWF time reference"
    return None, None


def _shot_at(tags: dict) -> str | None:
    """Cameras write their own clock, whatever zone the format asks for, so no zone is kept."""
    written = tags.get("com.apple.quicktime.creationdate") or tags.get("creation_time") or ""
    if "date" in tags and not _ISO.match(written):  # BWF keeps the date and the time apart
        written = f"{tags['date']}T{written}"
    match = _ISO.match(written)
    if not match or written.startswith(_UNSET_CLOCKS):
        return None
    try:
        return datetime.fromisoformat(f"{match[1]}T{match[2]}").isoformat()
    except ValueError:
        return None
