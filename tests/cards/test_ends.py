"""Files that say themselves how long they are. Footer of an MXF file: files that ffmpeg wrote; WAV: EBU Tech 3306."""

import io
import subprocess

import pytest

from review.cards.layouts import read_layout
from review.cards.layouts.ends import mxf_end
from review.cards.tree import read_tree
from review.media.ffmpeg import ffmpeg_binary
from tests.cards.whole_cards import mxf, wav


@pytest.fixture(scope="module", params=["mxf", "mxf_opatom"])
def real(request, tmp_path_factory):
    """An MXF file with picture and sound in one, or with the picture alone."""
    path = tmp_path_factory.mktemp("real") / "A.MXF"
    command = [ffmpeg_binary(), "-v", "error", "-f", "lavfi", "-i", "testsrc2=size=1280x720:rate=25:duration=0.2"]
    command += ["-pix_fmt", "yuv422p", "-c:v", "dnxhd", "-b:v", "90M", "-f", request.param, str(path)]
    subprocess.run(command, check=True, timeout=60)
    return path.read_bytes()


def codes(make_card, files):
    return [(each.code, each.where) for each in read_layout(read_tree(make_card(files))).findings]


def test_it_works(make_card, real):
    assert 0 < mxf_end(io.BytesIO(real)) <= len(real)
    assert codes(make_card, {"A.MXF": real}) == []


@pytest.mark.parametrize("share", [0.1, 0.5, 0.9])
def test_an_mxf_file_without_its_end_is_cut_short(make_card, real, share):
    assert codes(make_card, {"A.MXF": real[: int(len(real) * share)]}) == [("cut-short", "A.MXF")]


def test_an_mxf_file_behind_a_run_in_is_measured_from_its_header(make_card):
    assert codes(make_card, {"A.MXF": bytes(1000) + mxf(footer=200, size=260)}) == []
    assert codes(make_card, {"A.MXF": bytes(1000) + mxf(footer=200, size=199)}) == [("cut-short", "A.MXF")]


def test_an_mxf_file_that_does_not_say_where_its_footer_is_is_let_be(make_card):
    assert codes(make_card, {"A.MXF": mxf(footer=0, size=80)}) == []


def test_a_wav_file_without_its_end_is_cut_short(make_card):
    assert codes(make_card, {"T.WAV": wav(), "U.WAV": wav(start=None, form=b"RF64")}) == []
    assert codes(make_card, {"T.WAV": wav(cut=1)}) == [("cut-short", "T.WAV")]
    assert codes(make_card, {"U.WAV": wav(start=None, form=b"RF64", cut=9000), "T.WAV": wav()}) == [
        ("cut-short", "U.WAV")
    ]


@pytest.mark.parametrize("data", [b"", b"x", b"\6\x0e\x2b\x34" * 30, mxf()[:20], mxf()[:16]])
def test_what_is_no_mxf_file_is_left_to_the_probe(make_card, data):
    assert "cut-short" not in [code for code, _ in codes(make_card, {"A.MXF": data})]
