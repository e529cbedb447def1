"""The form of a proxy: how large its picture is, how it is coded, and how many channels it carries.

It is made to be sought in and stepped through: key frames lie every half second, no frame leans on a
later one, and the clock runs several hundred ticks a frame.
"""

from fractions import Fraction

from review.timecode import Rate

WIDTH, HEIGHT = 640, 360  # the most a proxy's picture takes
MOST_CHANNELS = 8
SAMPLE_RATE = 48000


def key_frame_step(rate: Rate) -> int:
    """Frames from one key frame of a proxy to the next: half a second."""
    return max(1, rate.nominal // 2)


def fit(aspect: Fraction) -> tuple[int, int]:
    """The largest even width and height with this aspect, in square pixels, that a proxy takes."""
    width, height = WIDTH, WIDTH / aspect
    if height > HEIGHT:
        width, height = HEIGHT * aspect, HEIGHT
    return max(2, round(width / 2) * 2), max(2, round(height / 2) * 2)


def sample_at(frame: int, rate: Rate) -> int:
    """The first sample of a proxy's sound that belongs to `frame`: none that began before the frame did."""
    return -(-frame * rate.denominator * SAMPLE_RATE // rate.numerator)


def picture_coding(rate: Rate) -> dict:
    """ffmpeg's options for the picture."""
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


def ticks_a_frame(rate: Rate) -> int:
    """How long a frame of the picture lasts by the file's own clock."""
    return rate.denominator * _ticks(rate)


def _ticks(rate: Rate) -> int:
    """How finely the proxy's clock runs: several hundred ticks a frame, so that a player can tell times within one."""
    return 1 if rate.denominator > 1 else 512


def sound_coding(channels: int) -> dict:
    """AAC where it keeps every channel whole; it does not beyond four, or at three, so Opus without a layout there."""
    if channels in (1, 2, 4):
        return {"c:a": "aac", "b:a": f"{64 * channels}k"}
    return {"c:a": "libopus", "mapping_family": 255, "b:a": f"{64 * channels}k"}


def file_options() -> dict:
    """Of the file itself: nothing of the camera's labels or data goes with it."""
    return {
        "format": "mp4",
        "movflags": "+faststart",
        "map_metadata": -1,
        "map_chapters": -1,
        "write_tmcd": 0,  # the source's label would lie about any part of the proxy
    }
