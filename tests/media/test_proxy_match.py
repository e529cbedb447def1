"""A proxy that is off by a frame anywhere is found, of whatever kind the original is; a true one never is."""

import subprocess

import numpy as np
import pytest

from review.media import frame_match
from review.media.frame_match import match_frames
from review.media.probe import probe
from review.media.proxy import make_proxy
from review.media.recording import Recording
from review.media.small import SIDE, distance, looks_like

from .clips import B_FRAMES, FRAMES, H264, INTRA, PCM, ffmpeg, make_clip, make_tones, numbers
from .conftest import CLIPS, M2TS, PRODUCTION, R25, R2997, R5994

# Beyond what CLIPS has. Each codes the same numbered pictures.
MORE = {
    "ten-bit.mov": (R25, "-c:v", "libx264", "-preset", "ultrafast", "-bf", "2", "-g", "12", "-pix_fmt", "yuv420p10le"),
    "422.mxf": (R25, "-c:v", "mpeg2video", "-q:v", "2", "-pix_fmt", "yuv422p", *PCM),
    "intra-422-ten.mxf": (R5994, "-c:v", "libx264", "-preset", "ultrafast", "-g", "1", "-pix_fmt", "yuv422p10le", *PCM),
    "hevc-422-ten.mov": (R5994, "-c:v", "libx265", "-preset", "ultrafast", "-pix_fmt", "yuv422p10le", *PCM),
    "prores.mov": (R25, "-c:v", "prores_ks", "-pix_fmt", "yuv422p10le", *PCM),
    "stills-camera.mov": (R2997, *INTRA, *PCM),
    "bottom-first.m2ts": (R25, *H264, "-flags", "+ildct+ilme", "-x264-params", "tff=0", *M2TS),
}
FLAT = {"paired.m2ts", "mixed.m2ts"}  # one grey a picture: levels are fitted, so nothing can be seen in them
NAMES = sorted({*CLIPS, *MORE} - FLAT)


@pytest.fixture(scope="module")
def any_clip(clip, tmp_path_factory):
    folder = tmp_path_factory.mktemp("more")

    def find(name):
        if name not in MORE:
            return clip(name)
        path = folder / name
        return path if path.exists() else make_clip(path, MORE[name][0], *MORE[name][1:])

    return find


@pytest.fixture(scope="module")
def made(any_clip, tmp_path_factory):
    """A clip's recording and its proxy."""
    folder = tmp_path_factory.mktemp("matched")

    def make(name):
        path, proxy = any_clip(name), folder / f"{name}.mp4"
        found = probe(path)
        recording = Recording.of([path], found, found.timebase(PRODUCTION))
        if not proxy.exists():
            make_proxy([path], found, recording.timebase, proxy)
        return recording, proxy

    return make


def shifted(proxy, into, drop: int):
    """The proxy without its frame number `drop`, and its last one twice: as many frames as before."""
    graph = f"select='not(eq(n,{drop}))',setpts=N/FRAME_RATE/TB,tpad=stop=1:stop_mode=clone"
    ffmpeg("-i", proxy, "-an", "-vf", graph, "-c:v", "libx264", "-preset", "ultrafast", "-crf", "18", "-g", "12", into)
    return into


def test_it_works(made):
    match = match_frames(*made("broadcast.mxf"))
    assert match.compared == (0, 12, 24, 36, 48)  # key pictures, every twelfth
    assert match.wrong == ()


@pytest.mark.parametrize("name", NAMES)
def test_a_true_proxy_matches(made, name):
    match = match_frames(*made(name))
    assert match.wrong == ()
    assert len(match.compared) >= 2


@pytest.mark.parametrize("name", sorted(MORE))
def test_these_too_have_every_frame_in_its_place(made, any_clip, name):
    recording, proxy = made(name)
    assert numbers(any_clip(name)) == numbers(proxy) == list(range(FRAMES))
    assert recording.frames == FRAMES


@pytest.mark.parametrize("name", sorted(set(NAMES) - {"variable.mp4"}))
@pytest.mark.parametrize("drop", [0, 20])
def test_a_lost_frame_is_found(made, tmp_path, name, drop):
    recording, proxy = made(name)
    wrong = match_frames(recording, shifted(proxy, tmp_path / "shifted.mp4", drop)).wrong
    assert wrong and min(wrong) >= drop


def test_a_still_picture_cannot_be_off(tmp_path):
    still = tmp_path / "still.mov"
    ffmpeg("-f", "lavfi", "-i", "smptebars=s=320x180:r=25:d=2", *B_FRAMES, still)
    found = probe(still)
    make_proxy([still], found, PRODUCTION, tmp_path / "proxy.mp4")
    recording = Recording.of([still], found, PRODUCTION)
    assert match_frames(recording, shifted(tmp_path / "proxy.mp4", tmp_path / "shifted.mp4", 10)).wrong == ()


def test_another_clips_proxy_is_found_even_where_nothing_moves(tmp_path):
    for name in ("smptebars", "testsrc"):
        ffmpeg("-f", "lavfi", "-i", f"{name}=s=320x180:r=25:d=2", *B_FRAMES, tmp_path / f"{name}.mov")
    found = probe(tmp_path / "testsrc.mov")
    make_proxy([tmp_path / "testsrc.mov"], found, PRODUCTION, tmp_path / "proxy.mp4")
    match = match_frames(Recording.of([tmp_path / "smptebars.mov"], found, PRODUCTION), tmp_path / "proxy.mp4")
    assert match.wrong == match.compared != ()


def test_sound_alone_has_nothing_to_compare(tmp_path):
    take = make_tones(tmp_path / "take.wav", 1)
    recording = Recording.of([take], probe(take), PRODUCTION)
    assert match_frames(recording, tmp_path / "nothing").compared == ()


def test_a_file_that_breaks_its_reader_compares_nothing(made, tmp_path, monkeypatch):
    recording, proxy = made("film.mov")
    broken = tmp_path / "child.py"
    broken.write_text('print(\'{"frame": 0, "last"\'); raise SystemExit(139)')
    monkeypatch.setattr(frame_match, "_CHILD", broken)
    assert match_frames(recording, proxy).compared == ()


def test_a_file_that_keeps_its_reader_busy_is_given_up(made, tmp_path, monkeypatch):
    recording, proxy = made("film.mov")
    slow = tmp_path / "child.py"
    slow.write_text("import time; time.sleep(60)")
    monkeypatch.setattr(frame_match, "_CHILD", slow)
    monkeypatch.setattr(frame_match, "TIMEOUT", 0.2)
    assert match_frames(recording, proxy).compared == ()


def test_the_child_reads_no_other_protocol(tmp_path):
    listing = tmp_path / "A001.mov"
    listing.write_text("ffconcat version 1.0\nfile /etc/hostname\n")
    about = [str(listing), "mov,mxf", "5", "25/1", str(SIDE), "0"]
    child = subprocess.run(
        [frame_match.sys.executable, "-P", str(frame_match._CHILD), *about], capture_output=True, check=False
    )
    assert (child.stdout, child.returncode) == (b"", 1)


def test_levels_are_fitted_and_shapes_are_not():
    ramp = np.linspace(40, 200, SIDE * SIDE).reshape(SIDE, SIDE)
    full = ramp.astype(np.uint8).tobytes()
    legal = (16 + ramp * 219 / 255).astype(np.uint8).tobytes()
    turned = np.rot90(ramp, -1).astype(np.uint8).tobytes()
    assert distance(full, legal) < 1
    assert distance(full, turned) > 30
    assert distance(turned, full, turned=90) < 1


@pytest.mark.parametrize(
    ("distances", "which", "same"),
    [
        ([3.0, 0.4, 3.1], 1, True),
        ([0.4, 3.0, 3.1], 1, False),
        ([0.5, 0.6, 0.5], 1, True),  # a still picture
        ([40.0, 41.0], 0, False),  # like none of them
        ([0.4, 0.5], 2, False),  # the proxy ends before it
    ],
)
def test_the_closest_is_the_one(distances, which, same):
    assert looks_like(distances, which) is same
