"""The sample lists that the source of OpenTimelineIO's CMX3600 adapter carries (otio-cmx3600-adapter 1.0.0,
tests/sample_data), read by us, by that adapter, and by pycmx: the same reels and times.

The adapter keeps no reel AX, gives two tracks for two channels, and has the length in the cut where a speed changes;
pycmx counts columns, so a reel that is not padded keeps the channels beside it.
"""

import io
import tarfile
from functools import cache
from pathlib import Path

import opentimelineio as otio
import pycmx
import pytest

from review.cuts import read
from review.cuts.ranges import source_range
from review.timecode import Rate, Timebase

ARCHIVE = Path(__file__).parents[2] / ".venv-oracles" / "edls" / "otio_cmx3600_adapter-1.0.0.tar.gz"


@cache
def samples() -> dict[str, str]:
    if not ARCHIVE.exists():
        pytest.fail("the sample lists are missing; fetch them with: bash tests/run")
    with tarfile.open(ARCHIVE) as archive:
        names = [name for name in archive.getnames() if name.endswith(".edl")]
        return {Path(name).stem: archive.extractfile(name).read().decode() for name in names}


def ours(name: str, rate: int = 24) -> list[tuple]:
    """(reel, first frame, frames) of every event, but for what runs on under a dissolve, which has no event of its own
    with the adapter."""
    timebase = Timebase(Rate(rate))
    found = []
    for event in read(samples()[name].encode()).events:
        if not event.tail:
            used = source_range(event, timebase, timebase)
            found.append((event.reel, used.start, used.length))
    return found


def adapters(name: str, rate: int = 24) -> list[tuple]:
    text = samples()[name]
    timeline = otio.adapters.read_from_string(text, "cmx_3600", rate=rate, ignore_timecode_mismatch=True)
    found = []
    for clip in timeline.find_clips():
        start, length = clip.source_range.start_time.value, clip.source_range.duration.value
        for effect in clip.effects:
            length = 1 if isinstance(effect, otio.schema.FreezeFrame) else length * effect.time_scalar
        found.append((clip.metadata.get("cmx_3600", {}).get("reel", "AX"), start, length))
    return found


# Both readers' samples, but for timecode_mismatch, whose labels fit no one rate: the adapter gives up on it.
@pytest.mark.parametrize(
    ("name", "events"),
    [
        ("avid_example", 2),
        ("cdl", 2),
        ("dissolve_test", 3),
        ("dissolve_test_2", 3),
        ("dissolve_test_3", 3),
        ("dissolve_test_4", 6),
        ("gap_test", 3),
        ("no_spaces_test", 9),
        ("nucoda_example", 2),
        ("premiere_example", 2),
        ("screening_example", 9),
        ("transition_duration", 4),
        ("wipe_test", 3),
    ],
)
def test_the_adapter_finds_the_same_reels_and_frames(name, events):
    assert ours(name) == adapters(name)
    assert len(ours(name)) == events


def test_at_twenty_five_frames_a_second_too():
    assert ours("25fps", 25) == adapters("25fps", 25)


def test_two_channels_are_one_event_of_ours():
    assert ours("multi_audio") * 2 == adapters("multi_audio")


@pytest.mark.parametrize(("name", "events"), [("speed_effects", 548), ("speed_effects_small", 5)])
def test_speed_changes_use_the_frames_that_the_adapters_warp_needs(name, events):
    """M2 has a tenth of a frame a second and the labels whole frames, so the two are a few frames apart."""
    pairs = list(zip(ours(name), adapters(name), strict=True))
    assert len(pairs) == events
    for (reel, start, length), (their_reel, their_start, needed) in pairs:
        assert (reel, start) == (their_reel, their_start)
        assert abs(length - needed) <= 3


@pytest.mark.parametrize("name", ["avid_example", "timecode_mismatch", "dissolve_test_3", "speed_effects", "cdl"])
def test_pycmx_finds_the_same_labels(name):
    listing = pycmx.parse_cmx3600(io.StringIO(samples()[name]))
    theirs = [
        (edit.source, edit.source_in, edit.source_out, edit.record_in, edit.record_out)
        for event in listing.events
        for edit in event.edits
    ]
    mine = [
        (event.reel, event.source_in, event.source_out, event.record_in, event.record_out)
        for event in read(samples()[name].encode()).events
    ]
    assert theirs == mine


def test_every_sample_is_read_without_a_remark():
    assert len(samples()) == 18
    for name, text in samples().items():
        assert read(text.encode()).remarks == (), name
