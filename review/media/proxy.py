"""The proxy: a light copy whose frame n is frame n of the source.

Everything here serves that sentence. Each picture of the source becomes one picture of the proxy, at
exactly n frames of the timebase; the sound is moved by what separated it from the picture. Key frames
lie every half second and no frame leans on a later one, so that a browser seeks and steps fast.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import av
import ffmpeg

from review.media.errors import MediaFailed
from review.media.ffmpeg import run, source
from review.media.probe import SOUND, Probe
from review.timecode import Rate, Timebase

WIDTH, HEIGHT = 640, 360  # the most a proxy's picture takes
MOST_CHANNELS = 8
SAMPLE_RATE = 48000

# Layouts in which the codecs keep every channel as it is and in its place.
_LAYOUTS = {1: "mono", 2: "stereo", 3: "3.0", 4: "4.0", 5: "5.0", 6: "5.1", 7: "6.1", 8: "7.1"}
_WAVES = {"size": f"{WIDTH}x{HEIGHT}", "n": SAMPLE_RATE // WIDTH, "mode": "cline", "colors": "0xB9A88C", "draw": "full"}


@dataclass(frozen=True)
class ProxyFacts:
    """`frames` is what the proxy holds and `source_frames` what the source was counted to hold: where they differ,
    pictures of the source could not be decoded. `channels` are the first of the source's."""

    frames: int
    source_frames: int
    width: int
    height: int
    channels: int
    audio_codec: str | None


def key_frame_step(rate: Rate) -> int:
    """Frames from one key frame of a proxy to the next: half a second."""
    return max(1, rate.nominal // 2)


def make_proxy(
    files: Sequence[Path],
    probe: Probe,
    timebase: Timebase,
    destination: Path,
    progress: Callable[[int], None] | None = None,
    threads: int = 2,
) -> ProxyFacts:
    """Write the proxy of a clip's `files` to `destination`, an MP4 whatever it is called.

    `probe` is of all of them (`joined`), `timebase` the clip's (`probe.timebase`); `progress` is told the frames
    done. Raises MediaFailed when ffmpeg fails or the proxy's frames are not where they should be.
    """
    run(proxy_arguments(files, probe, timebase, destination, threads), progress=progress)
    width, height = _size(probe)
    channels = _channels(probe)
    return ProxyFacts(
        frames=check_proxy(destination, timebase),
        source_frames=probe.length(timebase),
        width=width,
        height=height,
        channels=channels,
        audio_codec=_sound_coding(channels)["c:a"].removeprefix("lib") if channels else None,
    )


def proxy_arguments(
    files: Sequence[Path], probe: Probe, timebase: Timebase, destination: Path, threads: int
) -> list[str]:
    """ffmpeg's arguments for what `make_proxy` does."""
    frames, rate, channels = probe.length(timebase), timebase.rate, _channels(probe)
    decoding = {"threads": threads}
    if probe.video_codec == "h264":
        decoding["skip_loop_filter"] = "all"  # saves an eighth of the work, and cannot be seen at this size
    original = source(*files, **decoding)
    options = _picture_coding(rate) | {
        "format": "mp4",
        "movflags": "+faststart",
        "map_metadata": -1,
        "map_chapters": -1,
        "write_tmcd": 0,  # the source's label would lie about any part of the proxy
        "threads": threads,
    }
    sound = _sound(original, probe, channels) if channels else None
    if probe.kind == SOUND:
        branches = sound.asplit()
        picture, sound = _waves(branches[0], frames, rate), branches[1]
    else:
        picture = _picture(original["V:0"], probe, rate)
    streams = [picture]
    if sound:
        samples = -(-frames * rate.denominator * SAMPLE_RATE // rate.numerator)
        streams.append(sound.filter("atrim", end_sample=samples))
        options |= _sound_coding(channels)
    return ffmpeg.output(*streams, str(destination.absolute()), **options).get_args(overwrite_output=True)


def _ticks(rate: Rate) -> int:
    """How finely the proxy's clock runs: several hundred ticks a frame, so that a player can tell times within one."""
    return 1 if rate.denominator > 1 else 512


def fit(aspect: Fraction) -> tuple[int, int]:
    """The largest even width and height with this aspect, in square pixels, that a proxy takes."""
    width, height = WIDTH, WIDTH / aspect
    if height > HEIGHT:
        width, height = HEIGHT * aspect, HEIGHT
    return max(2, round(width / 2) * 2), max(2, round(height / 2) * 2)


def check_proxy(path: Path, timebase: Timebase) -> int:
    """Count the proxy's frames; raise MediaFailed unless frame n lies at exactly n frames of the timebase, from 0."""
    with av.open(str(path)) as container:
        stream = container.streams.video[0]
        times = sorted(packet.pts for packet in container.demux(stream) if packet.pts is not None)
        ticks = 1 / (timebase.rate.fraction * stream.time_base)
    for number, time in enumerate(times):
        if time != number * ticks:
            raise MediaFailed(f"frame {number} of the proxy lies {float(time / ticks):.2f} frames from its start")
    if not times:
        raise MediaFailed("not one picture of the source could be decoded")
    return len(times)


def _size(probe: Probe) -> tuple[int, int]:
    return (WIDTH, HEIGHT) if probe.kind == SOUND else fit(probe.aspect)


def _channels(probe: Probe) -> int:
    return min(probe.channels, MOST_CHANNELS)


def _picture(picture, probe: Probe, rate: Rate):
    if probe.interlaced:
        picture = picture.filter("bwdif", mode="send_frame")  # one picture per label, not one per field
    if probe.variable_rate:
        picture = picture.filter("fps", fps=f"{rate.numerator}/{rate.denominator}")
    picture = picture.filter("scale", *_size(probe), flags="bicubic").filter("setsar", 1)
    return _on_the_grid(picture.filter("format", "yuv420p"), rate)


def _on_the_grid(picture, rate: Rate):
    # setpts counts its own frames, so whatever times the source had, frame n lands at n.
    return picture.filter("settb", f"{rate.denominator}/{rate.numerator}").filter("setpts", "N")


def _waves(sound, frames: int, rate: Rate):
    """A picture for a clip that has none: what is heard, drawn a second at a time and held while it lasts."""
    # showwaves starts with an empty picture, and times each one by its end: so the first goes, and they are numbered.
    seconds = sound.filter("showwaves", **_WAVES).filter("trim", start_frame=1)
    seconds = seconds.filter("settb", "1").filter("setpts", "N")
    steady = seconds.filter("fps", fps=f"{rate.numerator}/{rate.denominator}").filter("format", "yuv420p")
    return _on_the_grid(steady.filter("trim", end_frame=frames), rate)


def _sound(original, probe: Probe, channels: int):
    """All audio streams side by side, in their order, from the first frame's start, with silence without end after."""
    parts, taken = [], 0
    for number, stream in enumerate(probe.audio):
        if taken == channels:
            break
        width = min(stream.channels, channels - taken)
        part = original[f"a:{number}"].filter("asetpts", f"PTS-{float(probe.picture_offset):.9f}/TB")
        part = part.filter("atrim", start=0)
        part = part.filter("aresample", SAMPLE_RATE, **{"async": 1, "first_pts": 0})
        # amerge keeps the order of its inputs only while their layouts overlap: all are to have a front left.
        parts.append(_laid_out(part, width, "FL" if width == 1 else _LAYOUTS[width]).filter("apad"))
        taken += width
    merged = parts[0] if len(parts) == 1 else ffmpeg.filter(parts, "amerge", inputs=len(parts))
    return _laid_out(merged, channels, _LAYOUTS[channels])


def _laid_out(sound, channels: int, layout: str):
    """Name the channels without mixing or moving them; any beyond `channels` are left out."""
    order = "|".join(str(channel) for channel in range(channels))
    return sound.filter("channelmap", map=order, channel_layout=layout)


def _picture_coding(rate: Rate) -> dict:
    key_frames = key_frame_step(rate)
    return {
        "c:v": "libx264",
        "preset": "veryfast",
        "crf": 27,
        "g": key_frames,
        "keyint_min": key_frames,
        "sc_threshold": 0,
        "bf": 0,
        "fps_mode": "passthrough",
        "enc_time_base:v": f"{rate.denominator}/{rate.numerator}",
        "video_track_timescale": rate.numerator * _ticks(rate),
    }


def _sound_coding(channels: int) -> dict:
    """AAC where it keeps every channel whole; it does not beyond four, or at three, so Opus without a layout there."""
    if channels in (1, 2, 4):
        return {"c:a": "aac", "b:a": f"{64 * channels}k"}
    return {"c:a": "libopus", "mapping_family": 255, "b:a": f"{64 * channels}k"}
