"""What a media file is: its pictures, sound, rate, length and start timecode.

The file is opened by a child process (`probe_child.py`); here its raw findings are given their meaning.
"""

from collections.abc import Sequence
from dataclasses import asdict, dataclass, fields, replace
from fractions import Fraction
from pathlib import Path

from review.media.asking import ask_child
from review.media.errors import MediaRefused
from review.media.file_sources import file_facts
from review.media.ixml import rate_in_words
from review.media.raw_facts import aspect_of, clock_of, frames_of, rate_of, time_of_day
from review.media.timecode_sources import Source, Start, believed, ranked
from review.timecode import STANDARD_RATES, Rate, Timebase

VIDEO = "video"
SOUND = "sound"


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
    shot_at: str | None  # ISO date and time by the camera's or recorder's own clock
    notes: tuple[str, ...] = ()  # for people: what is odd about the file
    found: tuple[Source, ...] = ()  # all that say when it started, those first that are believed before others
    channel_names: tuple[str, ...] = ()  # one for each channel; '' where nobody named it
    recorder_rate: str = ""  # what a sound recorder was set to: '25', '29.97DF'

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

    @property
    def best(self) -> Source | None:
        """The source of timecode that is believed first, if there is any."""
        return self.found[0] if self.found else None

    @property
    def start_timecode(self) -> str | None:
        """Of the first frame as it was found; None where there is none, or it is a count of samples."""
        return self.best.label or None if self.best else None

    @property
    def timecode_source(self) -> str | None:
        """Where it was found, for people."""
        return self.best.kind if self.best else None

    @property
    def time_reference(self) -> int | None:
        """Samples since midnight (EBU Tech 3285)."""
        return self.best.samples if self.best else None

    @property
    def drop(self) -> bool:
        return bool(self.best and self.best.drop and self.rate and self.rate.can_drop)

    def start_frame(self, timebase: Timebase) -> int | None:
        """The first frame, counted from midnight; None if the file does not say or its label does not exist."""
        start = believed(self.found, timebase)
        return start.frame if start.source else None

    def start(self, timebase: Timebase) -> Start:
        """When it starts, from where, and what there is to say about that.

        Without source timecode it starts at its file's time of day, or at zero, and the source is ''.
        """
        start = believed(self.found, timebase)
        notes = list(start.notes)
        if self.recorder_rate and self.kind == SOUND and not self._recorded_at(timebase):
            asked = rate_in_words(timebase.rate, timebase.drop)
            notes.append(f"the recorder was set to {self.recorder_rate}; the clip is counted at {asked}")
        if start.source:
            return Start(start.frame, start.source, tuple(notes))
        clock = time_of_day(self.shot_at, timebase) if self.shot_at else None
        if clock is not None:
            notes.append(f"no source timecode: labelled from the file's time of day, {self.shot_at[-8:]}")
        else:
            notes.append("no source timecode and no clock: labelled from zero")
        return Start(clock or 0, "", tuple(notes))

    def _recorded_at(self, timebase: Timebase) -> bool:
        kinds = (timebase.drop, None) if timebase.rate.can_drop else (None,)
        return self.recorder_rate in [rate_in_words(timebase.rate, kind) for kind in kinds]

    def with_sources(self, *sources: Source, notes: Sequence[str] = (), shot_at: str | None = None) -> "Probe":
        """The same, with what a file beside it says; `shot_at` where the file itself has no clock."""
        return replace(
            self,
            found=ranked((*self.found, *sources), self.rate),
            notes=tuple(dict.fromkeys((*self.notes, *notes))),
            shot_at=self.shot_at or shot_at,
        )

    def as_dict(self) -> dict:
        """Plain values for JSON; `from_dict` reads them back."""
        return asdict(self) | {
            "aspect": str(self.aspect),
            "picture_offset": str(self.picture_offset),
            "rate": self.rate and [self.rate.numerator, self.rate.denominator],
            "audio": [asdict(stream) for stream in self.audio],
            "notes": list(self.notes),
            "found": [asdict(source) for source in self.found],
            "channel_names": list(self.channel_names),
        }

    @classmethod
    def from_dict(cls, values: dict) -> "Probe":
        known = {each.name for each in fields(cls)}
        return cls(
            **{name: value for name, value in values.items() if name in known}
            | {
                "aspect": Fraction(values["aspect"]),
                "picture_offset": Fraction(values["picture_offset"]),
                "rate": Rate(*values["rate"]) if values["rate"] else None,
                "audio": tuple(AudioStream(**stream) for stream in values["audio"]),
                "notes": tuple(values["notes"]),
                "found": tuple(Source(**source) for source in values.get("found", ())),
                "channel_names": tuple(values.get("channel_names", ())),
            }
        )


def joined(probes: Sequence[Probe], beside: Sequence[Probe] = ()) -> Probe:
    """One recording that a camera cut into several files, as if it were one; the first says how it starts.

    `beside` are of the sound files that ran beside the first file: their streams follow those that it holds itself.
    Where the timecode of one does not follow from the one before, the notes say so.
    """
    first = probes[0]
    names = [name for file in (first, *beside) for name in _padded(file)]
    notes = [note for file in (*probes, *beside) for note in file.notes]
    sound = [replace(each, source=number) for number, file in enumerate(beside, start=1) for each in file.audio]
    return replace(
        first,
        audio=(*first.audio, *sound),
        frames=sum(each.frames for each in probes),
        samples=sum(each.samples for each in probes),
        variable_rate=any(each.variable_rate for each in probes),
        notes=tuple(dict.fromkeys((*notes, *_seams(probes), *_apart(first, beside)))),
        channel_names=tuple(names) if any(names) else (),
    )


def _padded(file: Probe) -> tuple[str, ...]:
    return (*file.channel_names, *[""] * file.channels)[: file.channels]


def _seams(probes: Sequence[Probe]) -> list[str]:
    """Where timecode does not run on from one file to the next."""
    first, notes, before = probes[0], [], probes[0].frames
    if first.rate is None:
        return notes
    timebase = first.timebase(Timebase(first.rate))
    expected = first.start_frame(timebase)
    for part, each in enumerate(probes[1:], start=2):
        start = each.start_frame(timebase)
        if None not in (expected, start) and each.frames:
            if start != (expected + before) % timebase.frames_per_day:
                label = timebase.label(start)
                notes.append(f"timecode breaks at frame {before:,}: file {part} goes on from {label} there")
            expected = start - before
        before += each.frames
    return notes


def _apart(picture: Probe, beside: Sequence[Probe]) -> list[str]:
    """Where a sound file beside the picture says that it began at another time; within a frame is together."""
    if picture.rate is None:
        return []
    timebase = picture.timebase(Timebase(picture.rate))
    began = [each.start_frame(timebase) for each in (picture, *beside)]
    day, notes = timebase.frames_per_day, []
    for number, start in enumerate(began[1:], start=1):
        if None not in (began[0], start) and 1 < (start - began[0]) % day < day - 1:
            notes.append(f"sound file {number} says that it began at {timebase.label(start)}, not with the picture")
    return notes


def probe(path: Path, timeout: float = 60) -> Probe:
    """Look into the file. Raises MediaRefused, naming the file and the reason, for one that cannot be used.

    `timeout` is in seconds and grows with the file by what slow storage needs to read it.
    """
    path = Path(path)
    found = ask_child(path, timeout)
    try:
        if "refused" in found:
            raise MediaRefused(found["refused"])
        return _understand(path, found)
    except MediaRefused as refusal:
        raise MediaRefused(f"{path.name} {refusal}") from None


def _understand(path: Path, found: dict) -> Probe:
    picture, notes = found["picture"], []
    rate = rate_of(found) if picture else None
    if picture:
        if rate not in STANDARD_RATES:
            notes.append(f"{rate} frames a second is not a rate that timecode is defined for")
        if found["variable_rate"]:
            notes.append(f"the frame rate varies; the clip is counted in frames of a steady {rate} a second")
    facts = file_facts(path, found, rate)
    return Probe(
        container=found["container"],
        kind=VIDEO if picture else SOUND,
        video_codec=picture and picture["codec"],
        width=picture["width"] if picture else 0,
        height=picture["height"] if picture else 0,
        aspect=aspect_of(picture) if picture else Fraction(0),
        rotation=picture["rotation"] if picture else 0,
        rate=rate,
        frames=frames_of(found, rate) if picture else 0,
        interlaced=bool(picture and picture["interlaced"]),
        variable_rate=bool(picture and found["variable_rate"]),
        picture_offset=Fraction(found["offset"]),
        audio=tuple(AudioStream(*stream[:3]) for stream in found["sounds"]),
        samples=0 if picture else found["samples"],
        shot_at=facts.shot_at or clock_of(found["tags"]),
        notes=tuple(dict.fromkeys((*notes, *facts.notes))),
        found=ranked(facts.sources, rate),
        channel_names=facts.channel_names if any(facts.channel_names) else (),
        recorder_rate=facts.recorder_rate,
    )
