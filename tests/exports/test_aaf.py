"""Why no AAF is written: what the open adapter (otio-aaf-adapter 2.0.0) makes of a list that is right as OTIO. When one
of these fails, the adapter has been mended there, and AAF can be looked at again."""

import json
import subprocess
from pathlib import Path

import pytest

from review.exports import otio_timeline
from review.timecode import Rate, Timebase
from tests.exports.pulls import PAL, event, pull

ORACLE = Path(__file__).parents[2] / ".venv-oracles" / "bin" / "python"
SCRIPT = Path(__file__).with_name("aaf_oracle.py")


@pytest.fixture
def as_aaf(tmp_path):
    def told(timebase: Timebase) -> dict:
        list_of_two = pull(event(timebase=timebase), event(timebase=timebase, in_frame=200, out_frame=250))
        source = tmp_path / "list.otio"
        source.write_bytes(otio_timeline(list_of_two)[0].content)
        ran = subprocess.run(
            [ORACLE, SCRIPT, source, tmp_path / "list.aaf"], capture_output=True, text=True, check=False, timeout=60
        )
        assert ran.returncode == 0, f"{ran.stderr[-1000:]}\n(bash tests/run installs the adapter)"
        return json.loads(ran.stdout)

    return told


def test_the_open_adapter_loses_the_reel_and_the_length(as_aaf):
    told = as_aaf(PAL)
    assert told["tapes"] == ["A003C001"]  # the clip: no tape is named 61112A03
    assert told["lengths"] == [0]  # of 150 frames
    assert not told["drop"]


def test_the_open_adapter_takes_every_rate_that_is_not_whole_for_drop_frame(as_aaf):
    assert as_aaf(Timebase(Rate(24000, 1001)))["drop"]  # at which there is no drop-frame
