"""What somebody is to watch next: one table for this rule and the page's (tests/browser/test_going.py)."""

import json
from pathlib import Path

import pytest
from django.db import connection, transaction

from review.models import Clip
from review.record import stints
from review.team import next_to_watch
from tests.seeing.test_coverage import see

TABLE = json.loads((Path(__file__).parents[1] / "data" / "next_unwatched.json").read_text())
CASES = TABLE["cases"]


@pytest.fixture
def clips(make_clip):
    """A, B and C, shot in this order."""
    made = {
        name: make_clip(name, card=f"KB04-26111{at}-A01", frames=TABLE["frames"]) for at, name in enumerate("ABC", 2)
    }
    Clip.objects.update(proxy_state=Clip.ProxyState.READY)
    return made


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["name"])
def test_it_leads_where_the_table_says(case, cast, clips):
    for who, clip, *stretch in case["stints"]:
        stints.take(getattr(cast, who), clips[clip], *stretch[:2], second="second" in stretch)
    for who, clip, *stretch in case["seen"]:
        see(getattr(cast, who), clips[clip], stretch)
    name, frame = case["at"]
    here = clips[name]
    if "reach" in case:
        Clip.objects.filter(id=here.id).update(proxy_state=Clip.ProxyState.GROWING, proxied_frames=case["reach"])
    found = next_to_watch.next_unwatched(cast.kb04, cast.logger, here, frame)
    assert (found and [found.clip.name, found.in_frame]) == case["next"]
    assert next_to_watch.holds_more(cast.logger, here) == case["holds_more"]
    assert case["here"] is None or [name, case["here"]] == case["next"], "the page goes elsewhere than the server"


def test_what_of_the_clip_is_left_is_nothing_of_the_stint(cast, clips):
    stints.take(cast.logger, clips["B"], 0, 10)
    assert next_to_watch.holds_more(cast.logger, clips["A"])
    see(cast.editor, clips["B"], (0, 10))
    assert not next_to_watch.holds_more(cast.logger, clips["A"])
    assert not next_to_watch.holds_more(cast.stranger, clips["A"])


@pytest.mark.parametrize("happens", ["becomes ready", "is gone"])
def test_what_happens_to_a_clip_between_two_readings_does_no_harm(happens, cast, clips):
    Clip.objects.filter(name="A").update(watched_frames=TABLE["frames"])  # so that the next is in B
    waits = Clip.ProxyState.WAITING if happens == "becomes ready" else Clip.ProxyState.READY
    for moment in range(1, 20):
        Clip.objects.filter(name="B").update(proxy_state=waits)
        queries = 0

        def meanwhile(execute, *query, moment=moment):
            nonlocal queries
            answer = execute(*query)
            queries += 1
            if queries == moment:
                changed = Clip.objects.filter(name="B")
                changed.delete() if happens == "is gone" else changed.update(proxy_state=Clip.ProxyState.READY)
            return answer

        with transaction.atomic(), connection.execute_wrapper(meanwhile):
            found = next_to_watch.next_unwatched(cast.kb04, cast.logger)
            transaction.set_rollback(True)
        assert found.clip.name in "BC"
        if queries < moment:
            break  # it came after the last of them
    assert 3 < moment < 19
