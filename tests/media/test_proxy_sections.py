"""A proxy made in sections is the proxy made in one go: the same frames, and the same sound sample by sample."""

from dataclasses import replace
from fractions import Fraction

import av
import numpy as np
import pytest

from review.media.errors import MediaFailed
from review.media.ffmpeg import pipe, source
from review.media.form import key_frame_step, sample_at
from review.media.frame_match import match_frames
from review.media.probe import joined, probe
from review.media.proxy import make_proxy
from review.media.recording import Recording
from review.media.sections import join, make_section, plan, seam_holds
from review.timecode import Rate

from .clips import B_FRAMES, H264, PCM, ffmpeg, make_clip, make_tones, numbered_pictures, numbers, tone
from .conftest import INTERLACED, M2TS, PRODUCTION, R25, R2997, R5994, R23976
from .test_proxy import loud_tones

LENGTH = 240  # frames
LATE = Fraction(12, 25)  # seconds that the sound starts before the picture
LONG = {
    "intra.mov": (R25, "-c:v", "mjpeg", "-q:v", "3", *PCM),
    "b-frames.mov": (R2997, *B_FRAMES, *PCM),
    "one-group.mov": (R25, *H264, *PCM),
    "film-44100.mov": (R23976, *B_FRAMES, "-af", "aresample=44100", *PCM),
    "stream.ts": (R5994, *B_FRAMES, "-c:a", "ac3", "-f", "mpegts"),
    "fields.m2ts": (R25, *H264, "-g", "12", *INTERLACED, *M2TS),
    "late.mov": (R25, *B_FRAMES, *PCM),
    "broadcast.mxf": (R2997, "-c:v", "mpeg2video", "-q:v", "2", *PCM),
    "intra-422-ten.mxf": (R5994, "-c:v", "libx264", "-preset", "ultrafast", "-g", "1", "-pix_fmt", "yuv422p10le", *PCM),
}


@pytest.fixture(scope="module")
def long_clip(tmp_path_factory):
    folder = tmp_path_factory.mktemp("long")

    def make(name):
        path = folder / name
        if not path.exists():
            early = LATE if name in ("late.mov", "fields.m2ts") else Fraction(0)
            rate, *coding = LONG[name]
            make_clip(path, rate, *coding, frames=LENGTH, tones=(700, 1100), sound_first=early)
        return path

    return make


def recording_of(*paths) -> Recording:
    probes = [probe(path) for path in paths]
    whole = joined(probes)
    timebase = whole.timebase(PRODUCTION)
    return Recording.of(paths, whole, timebase, [each.length(timebase) for each in probes])


def make_all(recording, folder, length=2):
    folder.mkdir(exist_ok=True)
    planned = plan(recording, length=length, long=1)
    for section in reversed(planned):  # in whatever order workers come to them
        assert make_section(recording, section, folder) == ()
    return planned


def samples(path, channels: int) -> np.ndarray:
    output = source(path)["a:0"].output("pipe:1", format="s16le", **{"c:a": "pcm_s16le"})
    with pipe(output.get_args()) as pcm:
        return np.frombuffer(pcm.read(), dtype="<i2").reshape(-1, channels).astype(int)


@pytest.mark.parametrize("name", LONG)
def test_a_clip_in_sections_is_the_clip_in_one_go(long_clip, tmp_path, name):
    path = long_clip(name)
    recording = recording_of(path)
    planned = make_all(recording, tmp_path / "sections")
    assert len(planned) > 1
    assert all(seam_holds(recording, section, tmp_path / "sections") for section in planned[:-1])
    made, whole = tmp_path / "joined.mp4", tmp_path / "whole.mp4"
    assert join(recording, planned, tmp_path / "sections", made) == LENGTH
    make_proxy([path], recording.probe, recording.timebase, whole, threads=1)

    assert numbers(made) == numbers(whole) == list(range(LENGTH))
    assert match_frames(recording, made).wrong == ()
    with av.open(str(made)) as container:
        packets = [packet for packet in container.demux(video=0) if packet.size]
    step = key_frame_step(recording.rate)
    assert [number for number, packet in enumerate(packets) if packet.is_keyframe] == list(range(0, LENGTH, step))

    ours, theirs = samples(made, 2), samples(whole, 2)
    assert len(ours) == len(theirs)
    # A lossy source is decoded anew for each section, and may differ in a sample's last bit before it is coded again.
    apart = np.abs(ours - theirs)
    assert np.sqrt((apart**2).mean()) < (100 if name == "fields.m2ts" else 1)


def test_the_samples_of_sections_follow_each_other(long_clip, tmp_path):
    """What is coded: at 30000/1001 no section is a whole number of samples long."""
    recording = recording_of(long_clip("broadcast.mxf"))
    planned = make_all(recording, tmp_path)
    parts = [np.fromfile(tmp_path / f"{section.number:03}.pcm", dtype="<i2").reshape(-1, 2) for section in planned]
    edges = [sample_at(section.first, recording.rate) for section in planned] + [sample_at(LENGTH, recording.rate)]
    assert [len(part) for part in parts] == np.diff(edges).tolist()
    assert np.array_equal(np.concatenate(parts), samples(long_clip("broadcast.mxf"), 2)[: edges[-1]])


def test_a_recording_in_several_files_is_cut_where_it_suits_and_not_where_they_end(tmp_path):
    """Spans of a camera that writes files which cannot be joined by the byte: 100, 101 and 39 frames."""
    spans, before = [], 0
    for number, frames in enumerate((100, 101, 39)):
        spans.append(tmp_path / f"A001_{number}.MXF")
        whole = make_clip(tmp_path / "whole.mov", R25, "-c:v", "mjpeg", "-q:v", "2", *PCM, frames=240)
        cut = f"trim=start_frame={before}:end_frame={before + frames},setpts=N/25/TB"
        sound = f"atrim=start_sample={before * 1920}:end_sample={(before + frames) * 1920},asetpts=N/SR/TB"
        ffmpeg("-i", whole, "-vf", cut, "-af", sound, "-c:v", "mpeg2video", "-q:v", "2", *PCM, spans[-1])
        before += frames
    recording = recording_of(*spans)
    assert recording.frames == 240
    planned = make_all(recording, tmp_path / "sections")
    assert [(each.first, each.end) for each in planned] == [(0, 48), (48, 96), (96, 144), (144, 192), (192, 240)]
    assert all(seam_holds(recording, section, tmp_path / "sections") for section in planned[:-1])
    join(recording, planned, tmp_path / "sections", tmp_path / "joined.mp4")
    make_proxy(spans, recording.probe, recording.timebase, tmp_path / "one", file_frames=[100, 101, 39])
    assert numbers(tmp_path / "joined.mp4") == numbers(tmp_path / "one") == list(range(240))
    assert np.array_equal(samples(tmp_path / "joined.mp4", 1), samples(tmp_path / "one", 1))
    assert match_frames(recording, tmp_path / "joined.mp4").wrong == ()


def test_a_place_that_is_not_where_the_file_says_is_found_at_the_seam(tmp_path):
    """Two streams joined whose clocks both begin at nothing: times in the second lead into the first."""
    whole, parts = numbered_pictures(240, 320, 180), []
    for name, pictures in (("a", whole[: len(whole) // 2]), ("b", whole[len(whole) // 2 :])):
        parts.append(tmp_path / f"{name}.mts")
        raw = ("-f", "rawvideo", "-pix_fmt", "gray", "-s", "320x180", "-framerate", "25", "-i", "pipe:0")
        ffmpeg(*raw, *B_FRAMES, "-f", "mpegts", parts[-1], stdin=pictures)
    recording = recording_of(*parts)
    planned = plan(recording, length=2, long=1)
    held = []
    for section in planned:
        try:
            make_section(recording, section, tmp_path)
        except MediaFailed:
            held.append(False)
    if len(held) == 0:
        held = [seam_holds(recording, section, tmp_path) for section in planned[:-1]]
    assert not all(held)


@pytest.mark.parametrize(
    ("seconds", "rate", "lengths"),
    [
        (399, R25, [399 * 25]),
        (601, R25, [7524, 7501]),
        (3600, R25, [7500] * 12),
        (3600, R2997, [9000] * 11 + [8892]),
    ],
)
def test_sections_are_about_five_minutes_and_begin_on_key_frames(long_clip, seconds, rate, lengths):
    recording = _as_if(recording_of(long_clip("intra.mov")), seconds, rate)
    planned = plan(recording)
    assert [section.end - section.first for section in planned] == lengths
    assert sum(lengths) == recording.frames
    assert {section.first % key_frame_step(rate) for section in planned} == {0}
    assert [section.last for section in planned] == [False] * (len(planned) - 1) + [True]


def _as_if(recording: Recording, seconds: int, rate: Rate, **about) -> Recording:
    frames = int(seconds * rate.fraction)
    return replace(
        recording,
        probe=replace(recording.probe, frames=frames, rate=rate, **about),
        timebase=replace(recording.timebase, rate=rate),
        parts=(replace(recording.parts[0], frames=frames),),
    )


@pytest.mark.parametrize("about", [{"variable_rate": True}, {"container": "matroska"}, {"kind": "sound"}], ids=str)
def test_what_cannot_be_found_by_its_time_is_made_in_one_go(long_clip, about):
    assert len(plan(_as_if(recording_of(long_clip("intra.mov")), 3600, R25, **about))) == 1


def test_sound_that_was_cut_short_is_found(long_clip, tmp_path, monkeypatch):
    recording = recording_of(long_clip("intra.mov"))
    section = plan(recording, length=2, long=1)[0]
    monkeypatch.setattr("review.media.sections._sound_bytes", lambda *about: 1)
    with pytest.raises(MediaFailed, match="the sound of section 0 has"):
        make_section(recording, section, tmp_path)


@pytest.mark.parametrize("channels", [1, 3, 8])
def test_sound_files_beside_the_picture_are_its_channels(tmp_path, channels):
    """Mono files, as cameras write that keep picture and sound apart; the picture's own track comes first."""
    picture = make_clip(tmp_path / "A001.mxf", R25, "-c:v", "mpeg2video", "-q:v", "2", *PCM, frames=100, tones=(2900,))
    tones = make_tones(tmp_path / "tones.wav", channels, seconds=4)
    beside = [tmp_path / f"A001_{number}.wav" for number in range(channels)]
    for number, path in enumerate(beside):
        ffmpeg("-i", tones, "-af", f"pan=mono|c0=c{number}", *PCM, path)
    found = joined([probe(picture)], [probe(path) for path in beside])
    timebase = found.timebase(PRODUCTION)
    facts = make_proxy([picture], found, timebase, tmp_path / "whole.mp4", beside=[beside])
    kept = min(8, channels + 1)
    assert facts.channels == kept
    recording = Recording.of([picture], found, timebase, [100], [beside])
    planned = make_all(recording, tmp_path / "sections")
    join(recording, planned, tmp_path / "sections", tmp_path / "joined.mp4")
    wanted = [2900, *(tone(number) for number in range(kept - 1))]
    for made in ("whole.mp4", "joined.mp4"):
        heard = loud_tones(tmp_path / made, kept, skip=48000)
        assert heard == wanted


def test_split_files_of_a_recorder_are_its_channels(tmp_path):
    """A take of four mono files, and one that goes on in a second set of files."""
    takes = []
    for part, seconds in enumerate((2.013, 1.5)):
        tones = make_tones(tmp_path / f"tones{part}.wav", 4, seconds=seconds)
        files = [tmp_path / f"T001_{part}_{number}.wav" for number in range(4)]
        for number, path in enumerate(files):
            ffmpeg("-i", tones, "-af", f"pan=mono|c0=c{number}", *PCM, path)
        takes.append(files)
    firsts = [probe(files[0]) for files in takes]
    found = joined(firsts, [probe(path) for path in takes[0][1:]])
    frames = [each.length(PRODUCTION) for each in firsts]
    facts = make_proxy(
        [files[0] for files in takes],
        found,
        PRODUCTION,
        tmp_path / "proxy.mp4",
        file_frames=frames,
        beside=[files[1:] for files in takes],
    )
    assert (facts.frames, facts.channels) == (found.length(PRODUCTION), 4)
    for skip in (0, 48000 * 2 + 9600):
        assert loud_tones(tmp_path / "proxy.mp4", 4, skip) == [tone(number) for number in range(4)]
