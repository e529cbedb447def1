"""Frame n of the proxy is frame n of the source, its sound is where it was, and channel i is channel i."""

from fractions import Fraction

import av
import numpy as np
import pytest

from review.demo.frame_number import read_number
from review.media.errors import MediaFailed
from review.media.ffmpeg import pipe, source
from review.media.peaks import make_peaks
from review.media.probe import joined, probe
from review.media.proxy import check_proxy, fit, key_frame_step, make_proxy
from review.timecode import Rate, Timebase

from .clips import FRAMES, H264, PCM, TONE_FROM, ffmpeg, make_clip, make_tones, numbered_pictures, numbers, tone
from .conftest import CLIPS, PRODUCTION
from .field_coded import grey

FIELD_CODED = ["mixed.m2ts", "paired.m2ts"]
STEADY = sorted(set(CLIPS) - {"variable.mp4", "rotated.mp4", *FIELD_CODED})
SOUNDING = sorted(set(STEADY) - {"wide.mov", "camera.m2ts", "pairs.m2ts"})


def loud_tones(path, channels: int, skip: int = 0) -> list[int]:
    """The loudest tone of each channel, in Hz, after `skip` samples."""
    output = source(path)["a:0"].output("pipe:1", format="s16le", **{"c:a": "pcm_s16le", "ar": 48000})
    with pipe(output.get_args()) as pcm:
        samples = np.frombuffer(pcm.read(), dtype="<i2").reshape(-1, channels)[skip : skip + 19200]
    spectrum = np.abs(np.fft.rfft(samples * np.hanning(len(samples))[:, np.newaxis], axis=0))
    return [round(48000 * bin / len(samples)) for bin in spectrum.argmax(axis=0)]


def streams(path) -> list[tuple[str, str]]:
    with av.open(str(path)) as container:
        return [(stream.type, getattr(stream.codec_context, "name", None)) for stream in container.streams]


def test_it_works(proxied):
    made = proxied("tracks.mov")
    assert made.facts.frames == made.facts.source_frames == FRAMES
    assert (made.facts.width, made.facts.height) == (640, 360)
    assert (made.facts.channels, made.facts.audio_codec) == (4, "aac")
    assert streams(made.path) == [("video", "h264"), ("audio", "aac")]  # and no timecode track


@pytest.mark.parametrize("name", STEADY)
def test_frame_n_of_the_proxy_is_frame_n_of_the_source(proxied, clip, name):
    assert numbers(clip(name)) == list(range(FRAMES))  # what was made is what was meant
    assert numbers(proxied(name).path) == list(range(FRAMES))
    assert proxied(name).facts.frames == FRAMES


@pytest.mark.parametrize("name", FIELD_CODED)
def test_two_coded_fields_are_one_frame(proxied, name):
    made = proxied(name)
    assert (made.probe.interlaced, made.probe.rate, made.probe.variable_rate) == (True, Rate(25), False)
    assert made.facts.frames == made.facts.source_frames == FRAMES
    with av.open(str(made.path)) as container:
        greys = [frame.to_ndarray(format="yuv420p")[: frame.height].mean() for frame in container.decode(video=0)]
    assert greys == pytest.approx([grey(number) for number in range(FRAMES)], abs=1)


@pytest.mark.parametrize("name", SOUNDING)
def test_the_sound_starts_on_its_frame(proxied, tmp_path, name):
    made = proxied(name)
    make_peaks(made.path, made.timebase, FRAMES, made.facts.channels, tmp_path)
    loudness = np.fromfile(tmp_path / "peaks.bin", dtype=np.uint8).reshape(FRAMES, -1)
    assert loudness[: TONE_FROM - 1].max() < 150  # a codec smears a tone by less than a frame
    assert loudness[TONE_FROM : FRAMES - 1].min() > 200


def test_frames_lie_on_the_grid_from_zero(proxied):
    made = proxied("stream.ts")
    with av.open(str(made.path)) as container:
        stream = container.streams.video[0]
        times = [packet.pts * stream.time_base for packet in container.demux(stream) if packet.pts is not None]
    assert times == [Fraction(1001 * number, 60000) for number in range(FRAMES)]


@pytest.mark.parametrize("name", ["film.mov", "drop.mov", "fast.mov", "fields.m2ts"])
def test_there_is_a_key_frame_every_half_second(proxied, name):
    made = proxied(name)
    with av.open(str(made.path)) as container:
        packets = [packet for packet in container.demux(video=0) if packet.size]
    assert all(packet.pts == packet.dts for packet in packets)  # no frame leans on a later one
    step = key_frame_step(made.timebase.rate)
    assert [number for number, packet in enumerate(packets) if packet.is_keyframe] == list(range(0, FRAMES, step))


@pytest.mark.parametrize(
    ("aspect", "size"),
    [
        (Fraction(16, 9), (640, 360)),
        (Fraction(4, 3), (480, 360)),
        (Fraction(9, 16), (202, 360)),
        (Fraction(256, 135), (640, 338)),
        (Fraction(239, 100), (640, 268)),
        (Fraction(10000), (640, 2)),
    ],
)
def test_the_picture_fits_with_its_aspect_and_even_sides(aspect, size):
    assert fit(aspect) == size


@pytest.mark.parametrize(("name", "size"), [("wide.mov", (640, 360)), ("rotated.mp4", (202, 360))])
def test_the_picture_is_upright_in_square_pixels(proxied, name, size):
    with av.open(str(proxied(name).path)) as container:
        frame = next(container.decode(video=0))
        assert container.streams.video[0].sample_aspect_ratio == 1
    assert ((frame.width, frame.height), frame.rotation) == (size, 0)


def test_a_rotated_picture_is_turned(proxied):
    """-display_rotation turns anticlockwise: the strip of numbers comes from the bottom edge to the right one."""
    with av.open(str(proxied("rotated.mp4").path)) as container:
        pictures = [frame.to_ndarray(format="gray") for frame in container.decode(video=0)]
    assert [read_number(np.rot90(picture, -1)) for picture in pictures] == list(range(FRAMES))


def test_a_variable_rate_is_conformed(proxied):
    """Thirty pictures of one frame each, then thirty of three frames each."""
    made = proxied("variable.mp4")
    found = numbers(made.path)
    expected = [*range(30), *(number for number in range(30, 60) for _ in range(3))]
    assert found == expected[: len(found)]
    assert len(found) == made.facts.frames == pytest.approx(made.probe.frames, abs=1)


@pytest.mark.parametrize("channels", range(1, 11))
def test_every_channel_is_kept_in_its_place(channels, tmp_path):
    """Up to eight; codecs and layouts in which a browser kept them apart were measured."""
    take = make_tones(tmp_path / "take.wav", channels, seconds=0.5)
    facts = make_proxy([take], probe(take), PRODUCTION, tmp_path / "proxy")
    kept = min(channels, 8)
    assert (facts.channels, facts.audio_codec) == (kept, "aac" if kept in (1, 2, 4) else "opus")
    assert loud_tones(tmp_path / "proxy", kept) == [tone(channel) for channel in range(kept)]


@pytest.mark.parametrize("tracks", [(1, 1), (1, 1, 1, 1), (1, 2), (2, 1), (2, 2), (1, 6), (2, 2, 2, 4)])
def test_tracks_are_laid_side_by_side_in_order(tracks, tmp_path):
    total = sum(tracks)
    tones = make_tones(tmp_path / "take.wav", total, seconds=0.5)
    first = [sum(tracks[:number]) for number in range(len(tracks))]
    layouts = {1: "mono", 2: "stereo", 4: "4.0", 6: "5.1"}
    graph = ";".join(
        f"[0:a]channelmap={'|'.join(str(start + i) for i in range(width))}:{layouts[width]}[t{number}]"
        for number, (start, width) in enumerate(zip(first, tracks, strict=True))
    )
    maps = [argument for number in range(len(tracks)) for argument in ("-map", f"[t{number}]")]
    ffmpeg("-i", tones, "-filter_complex", graph, *maps, *PCM, tmp_path / "take.mov")
    found = probe(tmp_path / "take.mov")
    assert [stream.channels for stream in found.audio] == list(tracks)
    facts = make_proxy([tmp_path / "take.mov"], found, PRODUCTION, tmp_path / "proxy")
    assert facts.channels == min(total, 8)
    assert loud_tones(tmp_path / "proxy", facts.channels) == [tone(channel) for channel in range(facts.channels)]


def test_a_clip_without_sound(proxied):
    assert (proxied("wide.mov").facts.channels, proxied("wide.mov").facts.audio_codec) == (0, None)
    assert streams(proxied("wide.mov").path) == [("video", "h264")]


@pytest.mark.parametrize("rate", [Rate(25), Rate(24000, 1001), Rate(60000, 1001)], ids=str)
def test_sound_alone_gets_a_picture_of_exactly_its_length(rate, tmp_path):
    take, timebase = make_tones(tmp_path / "take.wav", 2, seconds=2.51), Timebase(rate)
    found = probe(take)
    facts = make_proxy([take], found, timebase, tmp_path / "proxy")
    assert facts.frames == facts.source_frames == found.length(timebase)
    assert (facts.width, facts.height) == (640, 360)


def test_the_picture_of_sound_shows_the_second_that_is_heard(tmp_path):
    take, sound = tmp_path / "take.wav", "0.5*sin(2*PI*500*t)*between(t,1.5,2.25)"
    ffmpeg("-f", "lavfi", "-i", f"aevalsrc='{sound}':s=48000:d=2.5", take)
    make_proxy([take], probe(take), PRODUCTION, tmp_path / "proxy")
    with av.open(str(tmp_path / "proxy")) as container:
        pictures = [frame.to_ndarray(format="gray")[:170].max(axis=0) > 80 for frame in container.decode(video=0)]
    drawn = [(np.flatnonzero(columns)[[0, -1]] / 640).tolist() if columns.any() else None for columns in pictures]
    assert drawn[:25] == [None] * 25
    assert drawn[25:50] == [pytest.approx([0.5, 1.0], abs=0.02)] * 25
    assert drawn[50:] == [pytest.approx([0.0, 0.25], abs=0.02)] * 13


def test_progress_is_told(clip, tmp_path):
    told = []
    found = probe(clip("film.mov"))
    make_proxy([clip("film.mov")], found, found.timebase(PRODUCTION), tmp_path / "proxy", progress=told.append)
    assert told[-1] == FRAMES


def test_a_proxy_off_the_grid_is_found(clip):
    check_proxy(clip("wide.mov"), Timebase(Rate(25)))
    with pytest.raises(MediaFailed, match=r"frame 1 of the proxy lies 0\.96 frames from its start"):
        check_proxy(clip("wide.mov"), Timebase(Rate(24)))


def test_a_proxy_that_starts_late_is_found(tmp_path):
    path = make_clip(tmp_path / "late.mp4", Rate(25), *H264, "-vf", "setpts=PTS+2/25/TB", tones=())
    with pytest.raises(MediaFailed, match=r"frame 0 of the proxy lies 2\.00 frames from its start"):
        check_proxy(path, Timebase(Rate(25)))


def test_a_recording_in_several_files_is_one_proxy(tmp_path):
    """As cameras with a size limit write them: each file starts with a key frame, its numbers go on."""
    whole = numbered_pictures(FRAMES, 320, 180)
    size = len(whole) // FRAMES
    parts = []
    for name, pictures in (("00000.MTS", whole[: 25 * size]), ("00001.MTS", whole[25 * size :])):
        parts.append(tmp_path / name)
        raw = ("-f", "rawvideo", "-pix_fmt", "gray", "-s", "320x180", "-framerate", "25", "-i", "pipe:0")
        ffmpeg(*raw, *H264, "-f", "mpegts", "-mpegts_m2ts_mode", "1", parts[-1], stdin=pictures)
    found = joined([probe(part) for part in parts])
    facts = make_proxy(parts, found, found.timebase(PRODUCTION), tmp_path / "proxy")
    assert facts.frames == facts.source_frames == FRAMES
    assert numbers(tmp_path / "proxy") == list(range(FRAMES))


def test_a_name_that_would_be_taken_for_two_is_refused(tmp_path):
    with pytest.raises(MediaFailed, match="several files"):
        source(tmp_path / "a|b.mts", tmp_path / "c.mts")
