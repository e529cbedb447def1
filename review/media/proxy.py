"""The proxy: a light copy whose frame n is frame n of the source.

Everything here serves that sentence. Each picture of the source becomes one picture of the proxy, at
exactly n frames of the timebase; the sound is moved by what separated it from the picture. What comes
out is counted, and where pictures of the source could not be decoded it is made again by their times,
so that the ones after them still are where they were.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

import av
import ffmpeg

from review.media import stretch
from review.media.errors import MediaFailed
from review.media.ffmpeg import run
from review.media.form import (
    MOST_CHANNELS,
    SAMPLE_RATE,
    file_options,
    fit,
    key_frame_step,
    picture_coding,
    sound_coding,
)
from review.media.holes import Hole, holes, tell_times
from review.media.probe import Probe
from review.media.recording import Recording
from review.timecode import Timebase

__all__ = ["MOST_CHANNELS", "SAMPLE_RATE", "ProxyFacts", "check_proxy", "fit", "key_frame_step", "make_proxy"]

_NOTHING = "not one picture of the source could be decoded"


@dataclass(frozen=True)
class ProxyFacts:
    """`frames` is what the proxy holds and `source_frames` what the source was counted to hold. `holes` are frames
    that could not be decoded, and show the picture before. `channels` are the first of the source's."""

    frames: int
    source_frames: int
    width: int
    height: int
    channels: int
    audio_codec: str | None
    holes: tuple[Hole, ...] = ()

    @classmethod
    def of(cls, recording: Recording, frames: int, missing: Iterable[Hole] = ()) -> "ProxyFacts":
        """Of a proxy of `frames` frames that was made of this recording."""
        channels = recording.channels
        return cls(
            frames,
            recording.frames,
            *stretch.size(recording),
            channels,
            sound_coding(channels)["c:a"].removeprefix("lib") if channels else None,
            tuple(missing),
        )


def make_proxy(
    files: Sequence[Path],
    probe: Probe,
    timebase: Timebase,
    destination: Path,
    progress: Callable[[int], None] | None = None,
    threads: int = 2,
    file_frames: Sequence[int] = (),
    beside: Sequence[Sequence[Path]] = (),
) -> ProxyFacts:
    """Write the proxy of a clip's `files` to `destination`, an MP4 whatever it is called.

    `probe` is of all of them (`joined`), `timebase` the clip's (`probe.timebase`); for `file_frames` and `beside` see
    Recording.of. `progress` is told the frames done. Where the count shows that pictures could not be decoded, the
    work is done again, by time; the list of what was decoded is then left beside `destination`. Raises MediaFailed
    when ffmpeg fails or the proxy's frames are not where they should be.
    """
    recording = Recording.of(files, probe, timebase, file_frames, beside)
    return make_proxy_of(recording, destination, progress, threads)


def make_proxy_of(
    recording: Recording, destination: Path, progress: Callable[[int], None] | None = None, threads: int = 2
) -> ProxyFacts:
    """As `make_proxy`."""
    run(arguments_for(recording, destination, threads), progress=progress)
    frames, missing = check_proxy(destination, recording.timebase), ()
    if recording.steady and frames != recording.frames:
        run(arguments_for(recording, destination, threads, held=True), progress=progress)
        frames = check_proxy(destination, recording.timebase)
        missing = holes(recording, 0, recording.frames, destination)
    return ProxyFacts.of(recording, frames, missing)


def proxy_arguments(
    files: Sequence[Path], probe: Probe, timebase: Timebase, destination: Path, threads: int
) -> list[str]:
    """ffmpeg's arguments for what `make_proxy` does."""
    return arguments_for(Recording.of(files, probe, timebase), destination, threads)


def arguments_for(recording: Recording, destination: Path, threads: int, held: bool = False) -> list[str]:
    """ffmpeg's arguments for a whole proxy; `held` as in `stretch.picture`."""
    tells = []
    if recording.sound_only:
        picture, sound = stretch.sound_alone(recording, threads)
    else:
        sound = stretch.sound(recording, 0, recording.frames, threads=threads)
        picture, tells = stretch.picture(recording, 0, recording.frames, threads=threads, held=held)
    options = picture_coding(recording.rate) | file_options() | {"threads": threads}
    if sound:
        options |= sound_coding(recording.channels)
    proxy = ffmpeg.output(*filter(None, (picture, sound)), str(destination.absolute()), **options)
    outputs = [proxy, *tell_times(tells, destination)]
    return ffmpeg.merge_outputs(*outputs).get_args(overwrite_output=True)


def check_proxy(path: Path, timebase: Timebase) -> int:
    """Count the proxy's frames; raise MediaFailed unless frame n lies at exactly n frames of the timebase, from 0."""
    try:
        with av.open(str(path)) as container:
            if not container.streams.video:
                raise MediaFailed(_NOTHING)
            stream = container.streams.video[0]
            times = sorted(packet.pts for packet in container.demux(stream) if packet.pts is not None)
            ticks = 1 / (timebase.rate.fraction * stream.time_base)
    except av.error.InvalidDataError:
        raise MediaFailed(_NOTHING) from None
    for number, time in enumerate(times):
        if time != number * ticks:
            raise MediaFailed(f"frame {number} of the proxy lies {float(time / ticks):.2f} frames from its start")
    if not times:
        raise MediaFailed(_NOTHING)
    return len(times)
