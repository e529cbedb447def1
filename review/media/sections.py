"""A long clip's proxy in sections, so that many workers make it and it can be watched before it is whole.

    clip      0 ------------- 7500 ------------- 15000 -------- 21600
    section       000               001                002

A section is pictures coded as the proxy's and sound as bare samples. It has one picture more than its
frames: that of the frame after. The next section must begin with it, or a place in the file was not
where the file said it was; so each seam is proved back to the first section, for which nothing is
sought. Joining copies the pictures and codes the sound once, so that neither has a seam.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

import ffmpeg

from review.media import stretch
from review.media.errors import MediaFailed
from review.media.ffmpeg import run
from review.media.form import (
    SAMPLE_RATE,
    file_options,
    key_frame_step,
    picture_coding,
    sample_at,
    sound_coding,
    ticks_a_frame,
)
from review.media.holes import Hole, holes, tell_times
from review.media.proxy import check_proxy
from review.media.recording import Recording
from review.media.small import distance, looks_like, small_pictures

LENGTH = 300  # seconds, about
LONG = 400  # seconds; a shorter clip is made in one go
_SAMPLE_BYTES = 2
# Containers in which a place can be gone to, and its pictures and samples are numbered from there without rounding.
_FOUND_BY_TIME = ("mov", "mxf", "mpegts")


@dataclass(frozen=True)
class Section:
    """Frames [first, end) of a clip; `number` counts its sections from 0."""

    number: int
    first: int
    end: int
    last: bool

    @property
    def pictures(self) -> int:
        """How many its file holds: one beyond its end, but where the clip ends."""
        return self.end - self.first + (not self.last)


@dataclass(frozen=True)
class SectionFiles:
    """What is made of a section, below one folder and all called by its number."""

    pictures: Path
    sound: Path

    @classmethod
    def of(cls, folder: Path, number: int) -> "SectionFiles":
        stem = folder / f"{number:03}"
        return cls(stem.with_suffix(".mp4"), stem.with_suffix(".pcm"))


def plan(recording: Recording, length: float = LENGTH, long: float = LONG) -> list[Section]:
    """The sections to make; one for a clip that is to be made in one go. They begin on key frames of the proxy."""
    whole = [Section(0, 0, recording.frames, last=True)]
    seconds = recording.rate.seconds(recording.frames)
    if not recording.steady or recording.probe.container not in _FOUND_BY_TIME or seconds <= long:
        return whole
    step = key_frame_step(recording.rate)
    parts = max(1, round(seconds / length))
    frames = max(step, -(-recording.frames // (parts * step)) * step)
    edges = [*range(0, recording.frames, frames), recording.frames]
    return [Section(number, *edge, last=edge[1] == recording.frames) for number, edge in enumerate(pairwise(edges))]


def make_section(
    recording: Recording,
    section: Section,
    folder: Path,
    progress: Callable[[int], None] | None = None,
    threads: int = 1,
) -> tuple[Hole, ...]:
    """Write a section's files into `folder`; returns the frames that could not be decoded (as in make_proxy).

    Raises MediaFailed when ffmpeg fails, or when it cannot be made by itself.
    """
    files, missing = SectionFiles.of(folder, section.number), ()
    run(_arguments(recording, section, files, threads), progress=progress)
    if check_proxy(files.pictures, recording.timebase) != section.pictures:
        run(_arguments(recording, section, files, threads, held=True), progress=progress)
        missing = holes(recording, section.first, section.end, files.pictures)
        if (made := check_proxy(files.pictures, recording.timebase)) != section.pictures:
            raise MediaFailed(f"section {section.number} has {made} pictures, not {section.pictures}")
    if recording.channels:
        wanted = _sound_bytes(recording, section.first, section.end)
        if (size := files.sound.stat().st_size) != wanted:
            raise MediaFailed(f"the sound of section {section.number} has {size} bytes, not {wanted}")
    return missing


def seam_holds(recording: Recording, section: Section, folder: Path) -> bool:
    """Whether section number k + 1 begins with the picture that comes after section k, `section`."""
    files, following = (SectionFiles.of(folder, section.number + more) for more in (0, 1))
    expected = small_pictures(files.pictures, recording.rate, section.pictures - 1, 1)
    begins = small_pictures(following.pictures, recording.rate, 0, 3)
    return bool(expected) and looks_like([distance(expected[0], each) for each in begins], 0)


def join(recording: Recording, sections: Sequence[Section], folder: Path, destination: Path) -> int:
    """Write the proxy of the first sections, which follow each other from frame 0, whose files are in `folder`.

    Returns its frames. Raises MediaFailed when ffmpeg fails or a frame is not where it should be.
    """
    made = [SectionFiles.of(folder, section.number) for section in sections]
    listing = destination.with_name(f"{destination.name}.list")
    listing.write_text(
        "".join(map(_listed, made, (recording.rate.seconds(each.end - each.first) for each in sections)))
    )
    options = {"f": "concat", "safe": 0, "protocol_whitelist": "file"}
    streams = [ffmpeg.input(str(listing.absolute()), **options)["v:0"]]
    ticks = ticks_a_frame(recording.rate)
    coding = {
        "c:v": "copy",
        "bsf:v": f"setts=pts=N*{ticks}:dts=N*{ticks}:duration={ticks}",
        "video_track_timescale": picture_coding(recording.rate)["video_track_timescale"],
        "threads": 1,
    }
    if recording.channels:
        pcm = {"f": "s16le", "ar": SAMPLE_RATE, "ac": recording.channels, "protocol_whitelist": "concat,file"}
        paths = [str(files.sound.absolute()) for files in made]
        if any("|" in path for path in paths):
            raise MediaFailed(f"{folder} cannot be worked in while its path has a '|' in it")
        sound = ffmpeg.input("concat:" + "|".join(paths), **pcm)["a:0"]
        streams.append(stretch.laid_out(sound, recording.channels))
        coding |= sound_coding(recording.channels)
    output = ffmpeg.output(*streams, str(destination.absolute()), **(coding | file_options()))
    run(output.get_args(overwrite_output=True))
    listing.unlink()
    frames = check_proxy(destination, recording.timebase)
    if frames != sections[-1].end:
        raise MediaFailed(f"the sections hold {frames} frames together, not {sections[-1].end}")
    return frames


def _arguments(
    recording: Recording, section: Section, files: SectionFiles, threads: int, held: bool = False
) -> list[str]:
    end = section.first + section.pictures
    pictures, tells = stretch.picture(recording, section.first, end, threads=threads, held=held)
    coding = picture_coding(recording.rate) | file_options() | {"threads": threads}
    outputs = [
        ffmpeg.output(pictures, str(files.pictures.absolute()), **coding),
        *tell_times(tells, files.pictures),
    ]
    if sound := stretch.sound(recording, section.first, section.end, threads=threads):
        samples = {"format": "s16le", "c:a": "pcm_s16le", "threads": 1}
        outputs.append(ffmpeg.output(sound, str(files.sound.absolute()), **samples))
    return ffmpeg.merge_outputs(*outputs).get_args(overwrite_output=True)


def _sound_bytes(recording: Recording, first: int, end: int) -> int:
    samples = sample_at(end, recording.rate) - sample_at(first, recording.rate)
    return samples * recording.channels * _SAMPLE_BYTES


def _listed(files: SectionFiles, seconds: Fraction) -> str:
    """A section in the list that ffmpeg joins, without the picture that is beyond its end."""
    path = str(files.pictures.absolute()).replace("'", "'\\''")
    return f"file '{path}'\noutpoint {float(seconds) - 0.001:.6f}\n"
