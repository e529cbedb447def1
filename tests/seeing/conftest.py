"""A small shoot of which something is watched, something skimmed and something neither."""

import uuid

import pytest

from review.marking import selecting
from review.models import Card, Clip
from tests.seeing.test_coverage import DROP, see


@pytest.fixture
def room(cast, make_clip):
    """Three trusted cards of two days and two cameras and two rates; one that is held. Returns the clips."""
    clips = {
        "a1": make_clip("A1", card="KB04-261112-A01", frames=25 * 60),
        "a2": make_clip("A2", card="KB04-261112-A01", frames=25 * 30, start="11:00:00:00"),
        "b1": make_clip("B1", card="KB04-261112-B01", frames=1800, timebase=DROP, start="10:00:00;00"),
        "c1": make_clip("C1", card="KB04-261113-A01", frames=25 * 10),
    }
    make_clip("H1", card="KB04-261113-A02", frames=25 * 999, state=Card.State.HELD)
    make_clip("X1", card="NR07-261112-A01", frames=25 * 999, production=cast.nr07)
    Clip.objects.all().update(proxy_state=Clip.ProxyState.READY)
    see(cast.logger, clips["a1"], (0, 500), (750, 1000))
    see(cast.editor, clips["a1"], (400, 600))
    see(cast.editor, clips["a2"], (0, 750), speed=4)
    see(cast.logger, clips["b1"], (0, 1800))
    selecting.put(cast.logger, uuid.uuid4(), clips["a1"], selecting.Mark(0, 10), 0)
    gone = selecting.put(cast.logger, uuid.uuid4(), clips["a1"], selecting.Mark(0, 10), 0)
    selecting.delete(cast.logger, gone)
    return clips
