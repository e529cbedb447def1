"""Running ffmpeg: what comes back, and that nothing stays behind."""

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from review.media.errors import MediaFailed
from review.media.ffmpeg import ffmpeg_binary, pipe, run, source

ENDLESS = ["-re", "-f", "lavfi", "-i", "testsrc=s=64x36", "-f", "null", "-"]


def children(parent: int) -> list[int]:
    found = []
    for stat in Path("/proc").glob("[0-9]*/stat"):
        try:
            fields = stat.read_text().rpartition(")")[2].split()
        except OSError:
            continue
        if int(fields[1]) == parent and fields[0] != "Z":
            found.append(int(stat.parent.name))
    return sorted(found)


def gone(process: int) -> bool:
    try:
        return Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()[0] == "Z"
    except OSError:
        return True


def wait_until(condition, seconds: float = 10) -> bool:
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        if found := condition():
            return found
        time.sleep(0.02)
    return False


def test_it_works_and_tells_the_frames_done():
    told = []
    run(["-f", "lavfi", "-i", "testsrc=s=64x36:d=1:r=25", "-f", "null", "-"], progress=told.append)
    assert told[-1] == 25
    assert told == sorted(told)


def test_what_ffmpeg_writes_can_be_read():
    grey = ["-f", "lavfi", "-i", "color=gray:s=16x16", "-frames:v", "2", "-f", "rawvideo", "-pix_fmt", "gray", "pipe:1"]
    with pipe(grey) as output:
        assert len(output.read()) == 2 * 16 * 16


def test_the_environment_names_another_ffmpeg(monkeypatch):
    monkeypatch.setenv("FFMPEG", "/nowhere/ffmpeg")
    assert ffmpeg_binary() == "/nowhere/ffmpeg"
    with pytest.raises(MediaFailed, match=r"/nowhere/ffmpeg: No such file or directory\. Set FFMPEG to the path"):
        run(["-version"])


def test_a_failure_carries_ffmpegs_own_words():
    with pytest.raises(MediaFailed, match="No such filter: 'nosuch'"):
        run(["-f", "lavfi", "-i", "testsrc", "-vf", "nosuch", "-f", "null", "-"])


def test_a_flood_of_messages_neither_blocks_nor_fills_memory():
    """Debug output of many megabytes: were the pipe not drained, ffmpeg would wait for ever."""
    run(["-loglevel", "trace", "-f", "lavfi", "-i", "testsrc=s=64x36:d=60", "-f", "null", "-"], timeout=60)


def test_ffmpeg_is_stopped_when_it_takes_too_long():
    before = children(os.getpid())  # other tests' helpers, such as a browser's driver
    with pytest.raises(MediaFailed, match=r"it was not done after 0\.5 seconds"):
        run(ENDLESS, timeout=0.5)
    assert children(os.getpid()) == before


def test_ffmpeg_is_stopped_when_the_caller_gives_up():
    def give_up(frames):
        raise KeyboardInterrupt

    before = children(os.getpid())
    with pytest.raises(KeyboardInterrupt):
        run(ENDLESS, progress=give_up)
    assert children(os.getpid()) == before


@pytest.mark.skipif(sys.platform != "linux", reason="the tie between parent and child is Linux's")
def test_a_killed_worker_leaves_no_ffmpeg_behind():
    script = f"from review.media.ffmpeg import run; run({ENDLESS!r})"
    here = Path(__file__).parents[2]
    worker = subprocess.Popen([sys.executable, "-c", script], cwd=here)
    try:
        child = wait_until(lambda: children(worker.pid))[0]
    finally:
        os.kill(worker.pid, signal.SIGKILL)
        worker.wait()
    assert wait_until(lambda: gone(child))


@pytest.mark.parametrize(
    "text",
    [
        "ffconcat version 1.0\nfile '{other}'\n",
        "#EXTM3U\n#EXT-X-TARGETDURATION:2\n#EXTINF:2,\nfile://{other}\n#EXT-X-ENDLIST\n",
        "v=0\no=- 0 0 IN IP4 127.0.0.1\ns=x\nc=IN IP4 127.0.0.1\nt=0 0\nm=video 9 RTP/AVP 96\n",
    ],
    ids=["list of files", "playlist", "network session"],
)
def test_a_file_that_names_others_is_not_read(text, tmp_path, clip):
    fake = tmp_path / "A001.mp4"
    fake.write_text(text.format(other=clip("film.mov")))
    with pytest.raises(MediaFailed):
        run(source(fake).output("-", format="null").get_args())
