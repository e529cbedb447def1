"""Where pictures cannot be decoded, the one before is held, and every other one stays on its own frame."""

import pytest

from review.media.frame_match import match_frames
from review.media.holes import Hole, gathered
from review.media.probe import probe
from review.media.proxy import make_proxy
from review.media.recording import Recording
from review.media.sections import join, make_section, plan, seam_holds

from .clips import FRAMES, INTRA, PCM, damage, make_clip, numbers
from .conftest import PRODUCTION, R25, R2997

HURT = {
    "the middle": [(20, 30)],
    "the start": [(0, 4)],
    "the end": [(55, 60)],
    "one picture": [(31, 32)],
    "two places": [(10, 15), (40, 42)],
}


def shown(holes: list[tuple[int, int]], frames: int) -> list[int]:
    """The numbers of the pictures that are to be seen, frame by frame."""
    lost = {frame for first, end in holes for frame in range(first, end)}
    first = min(set(range(frames)) - lost)
    seen = []
    for frame in range(frames):
        seen.append(frame if frame not in lost else seen[-1] if seen else first)
    return seen


@pytest.mark.parametrize("place", HURT)
@pytest.mark.parametrize("rate", [R25, R2997], ids=str)
def test_the_frames_after_damage_are_where_they_were(tmp_path, place, rate):
    path = make_clip(tmp_path / "A001.mov", rate, *INTRA, *PCM)
    for hole in HURT[place]:
        damage(path, *hole)
    found = probe(path)
    timebase = found.timebase(PRODUCTION)
    facts = make_proxy([path], found, timebase, tmp_path / "proxy")
    assert (facts.frames, facts.source_frames) == (FRAMES, FRAMES)
    assert facts.holes == tuple(Hole(first, end - first) for first, end in HURT[place])
    assert numbers(tmp_path / "proxy") == shown(HURT[place], FRAMES)
    assert match_frames(Recording.of([path], found, timebase), tmp_path / "proxy").wrong == ()
    assert not list(tmp_path.glob("*.times-*"))


def test_damage_is_held_in_sections_as_well_and_over_a_seam(tmp_path):
    path = damage(make_clip(tmp_path / "A001.mov", R25, *INTRA, *PCM, frames=150), 55, 65)
    found = probe(path)
    recording = Recording.of([path], found, found.timebase(PRODUCTION))
    planned = plan(recording, length=2, long=1)
    assert [(each.first, each.end) for each in planned] == [(0, 60), (60, 120), (120, 150)]
    missing = [make_section(recording, section, tmp_path) for section in planned]
    assert missing == [(Hole(55, 5),), (Hole(60, 5),), ()]
    assert all(seam_holds(recording, section, tmp_path) for section in planned[:-1])
    assert join(recording, planned, tmp_path, tmp_path / "proxy") == 150
    assert numbers(tmp_path / "proxy") == shown([(55, 65)], 150)


def test_runs_are_gathered():
    assert list(gathered([3, 4, 5, 9, 11, 12])) == [Hole(3, 3), Hole(9, 1), Hole(11, 2)]
    assert list(gathered([])) == []
