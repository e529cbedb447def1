"""What the watching page asks beside its clip."""

import uuid

import pytest

from review.marking import selecting, taking_notes
from tests.conftest import api_of
from tests.seeing.test_coverage import see


@pytest.fixture
def two(make_clip):
    return (
        make_clip(card="KB04-261112-A01", frames=250),
        make_clip(card="KB04-261112-B01", start="10:00:02:00", frames=200),
    )


def test_two_pages_see_each_other_and_each_others_marks(two, cast):
    clip, _ = two
    address = f"/api/v1/clips/{clip.id}/pulse/"
    mine, theirs = {"viewing": str(uuid.uuid4())}, {"viewing": str(uuid.uuid4())}
    first = api_of(cast.logger).post(address, mine | {"frame": 3}).json()
    assert first["others"] == [] and first["selects"] == [] and first["proxy_state"] == "waiting"
    select = selecting.put(cast.editor, uuid.uuid4(), clip, selecting.Mark(1, 9, ("gull",)), 0)
    told = api_of(cast.editor).post(address, theirs | {"frame": 7}).json()
    assert [(each["person"], each["frame"]) for each in told["others"]] == [("logger", 3)]
    second = api_of(cast.logger).post(address, mine | {"frame": 4, "since": first["now"]}).json()
    assert [(each["id"], each["logger"]) for each in second["selects"]] == [(str(select.id), "editor")]


def test_a_page_is_told_what_was_seen_when_it_is_more_than_it_knows(two, cast):
    clip, _ = two
    address, mine = f"/api/v1/clips/{clip.id}/pulse/", {"viewing": str(uuid.uuid4()), "frame": 3}
    first = api_of(cast.logger).post(address, mine).json()["seen"]
    assert first == api_of(cast.logger).get(f"/api/v1/clips/{clip.id}/watched/").json()
    known = mine | {name: first[name] for name in ("watched_frames", "skimmed_frames")}
    assert api_of(cast.logger).post(address, known).json()["seen"] is None
    see(cast.editor, clip, (10, 60))
    told = api_of(cast.logger).post(address, known).json()["seen"]
    assert (told["watched"], told["mine_watched"], told["watched_frames"]) == ([[10, 60]], [], 50)
    known["watched_frames"] = 50
    assert api_of(cast.logger).post(address, known).json()["seen"] is None
    see(cast.editor, clip, (100, 120), speed=4.0)
    assert api_of(cast.logger).post(address, known).json()["seen"]["skimmed"] == [[100, 120]]


def test_leaving_says_where_and_why(two, cast):
    clip, _ = two
    viewing = str(uuid.uuid4())
    api_of(cast.logger).post(f"/api/v1/clips/{clip.id}/pulse/", {"viewing": viewing, "frame": 3})
    gone = api_of(cast.logger).post(
        f"/api/v1/clips/{clip.id}/leave/", {"viewing": viewing, "frame": 9, "remark": "go on"}
    )
    assert gone.status_code == 204
    assert clip.viewings.get().remark == "go on"


def test_angles_of_a_frame(two, cast):
    clip, other = two
    (angle,) = api_of(cast.logger).get(f"/api/v1/clips/{clip.id}/angles/?frame=75").json()
    assert (angle["clip"], angle["camera"], angle["in_frame"], angle["label"]) == (other.id, "B", 25, "10:00:03:00")
    assert api_of(cast.logger).get(f"/api/v1/clips/{clip.id}/angles/?frame=0").json() == []
    for bad in ("250", "-1", "x", "9" * 30):
        assert api_of(cast.logger).get(f"/api/v1/clips/{clip.id}/angles/?frame={bad}").status_code == 400


def test_a_select_is_carried(two, cast):
    clip, other = two
    select = selecting.put(cast.logger, uuid.uuid4(), clip, selecting.Mark(75, 100), 0)
    (made,) = api_of(cast.logger).post(f"/api/v1/selects/{select.id}/carry/", {}).json()
    assert (made["clip"], made["in_frame"], made["carried_from"]) == (other.id, 25, str(select.id))
    assert api_of(cast.logger).post(f"/api/v1/selects/{select.id}/carry/", {"to": []}).json() == []


def test_field_notes_on_a_clip(two, cast):
    clip, _ = two
    taking_notes.take(cast.producer, cast.kb04, b"date,tc,text\n2026-11-12,10:00:01:00,gull\n")
    (note,) = api_of(cast.logger).get(f"/api/v1/clips/{clip.id}/notes/").json()
    assert (note["frame"], note["note"]["text"]) == (25, "gull")


def test_a_clap_sets_a_clock(two, cast):
    clip, other = two
    body = {"clip": other.id, "frame": 0, "other": clip.id, "other_frame": 60}
    assert api_of(cast.logger).post(f"/api/v1/cards/{other.card_id}/clock/", body).json() == {
        "offset": 0.4,
        "set": True,
    }
    assert api_of(cast.logger).delete(f"/api/v1/cards/{other.card_id}/clock/").json() == {"offset": 0.0, "set": False}
    assert api_of(cast.logger).post(f"/api/v1/cards/{clip.card_id}/clock/", body).status_code == 400


def test_habits_are_ones_own(cast):
    assert api_of(cast.logger).post("/api/v1/habits/", {"keys": {"markIn": ["["]}}).json()["keys"] == {"markIn": ["["]}
    assert api_of(cast.logger).post("/api/v1/habits/", {"catch_seconds": 20}).json() == {
        "keys": {"markIn": ["["]},
        "catch_seconds": 20,
    }
    assert api_of(cast.editor).get("/api/v1/habits/").json()["keys"] == {}
    assert api_of(cast.logger).post("/api/v1/habits/", {"catch_seconds": 0}).status_code == 400
