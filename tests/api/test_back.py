"""The JSON surface of returned cuts, footage worth keeping and the tag set."""

import uuid

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from review.marking import selecting
from review.marking.selecting import Mark
from tests.conftest import api_of

EDL = (
    "001  61112A01 V     C        10:00:00:10 10:00:01:10 01:00:00:00 01:00:01:00\n"
    "002  NOBODY   V     C        12:00:00:00 12:00:01:00 01:00:01:00 01:00:02:00\n"
)


@pytest.fixture
def select(cast, a_clip):
    return selecting.put(cast.logger, uuid.uuid4(), a_clip, Mark(0, 11, ("gull",), "on the rail"), 0)


def test_a_cut_is_taken_in_read_and_forgotten(cast, select):
    script = api_of(cast.editor)
    made = script.post("/api/v1/cuts/", {"production": "KB04", "text": EDL, "name": "one", "rate": "25"})
    assert made.status_code == 201
    cut = made.json()
    assert (cut["name"], cut["rate"], cut["events"], cut["given_by"]) == ("one", "25", 2, "editor")
    at = f"/api/v1/cuts/{cut['id']}/"
    found, lost = script.get(f"{at}events/").json()["results"]
    assert (found["card"], found["found_clip"], found["in_frame"], found["sure"]) == (
        *("KB04-261112-A01", "A001C001", 10, "sure"),
    )
    assert (lost["card"], lost["clip"], lost["sure"]) == (None, None, "lost")
    assert script.get(f"{at}events/?sure=lost").json()["count"] == 1
    assert script.get(f"{at}selects/").json() == {"selects": [str(select.id)]}
    (use,) = script.get(f"{at}usage/").json()
    assert (use["card"], use["percent"], use["used"]) == ("KB04-261112-A01", 50.0, 1.0)
    assert b"CLIP/A001C001.MOV" in script.get(f"{at}restore/?handles=1").content
    assert script.post(f"{at}choose/", {"line": 3, "clip": None}).status_code == 404
    chosen = script.post(f"{at}choose/", {"line": 1, "clip": select.clip_id}).json()
    assert (chosen["chosen_by"], chosen["sure"], chosen["in_frame"], chosen["nearest"]) == ("editor", "sure", 10, [])
    assert script.post(f"{at}choose/", {"line": 1}).status_code == 400
    assert script.post(f"{at}again/", {"rate": "50"}).json()["rate"] == "50"
    assert script.delete(at).status_code == 204
    assert script.get("/api/v1/cuts/?production=KB04").json()["results"] == []


@pytest.mark.parametrize(
    ("body", "field"), [({"text": "hello"}, "content"), ({"text": EDL, "rate": "7"}, "rate"), ({"text": ""}, "text")]
)
def test_a_cut_that_cannot_be_is_refused_at_its_field(cast, a_clip, body, field):
    told = api_of(cast.editor).post("/api/v1/cuts/", {"production": "KB04", **body})
    assert told.status_code == 400 and field in told.json() and told.json()["detail"]


def test_a_select_is_flagged_found_and_let_go(cast, select):
    script = api_of(cast.logger)
    at = f"/api/v1/selects/{select.id}/keeping/"
    told = script.put(at, {"people": "none", "rights": "Bay trust"})
    assert told.status_code == 200
    assert (told.json()["people"], told.json()["rights"], told.json()["flagged_by"]) == ("none", "Bay trust", "logger")
    (row,) = script.get("/api/v1/keeping/?production=KB04&people=none").json()["results"]
    assert (row["select"], row["card"], row["in_frame"]) == (str(select.id), "KB04-261112-A01", 0)
    assert script.get("/api/v1/keeping/?people=recognisable").json()["results"] == []
    assert script.put(at, {"people": "crowd"}).status_code == 400
    assert script.delete(at).status_code == 204
    assert script.get(f"/api/v1/keeping/{select.id}/").status_code == 404


def test_a_select_says_what_became_of_it(cast, a_clip, select, django_assert_num_queries):
    script = api_of(cast.editor)
    at = f"/api/v1/selects/{select.id}/"
    told = script.get(at).json()
    assert (told["in_cuts"], told["worth_keeping"]) == ([], None)
    script.post("/api/v1/cuts/", {"production": "KB04", "text": EDL, "name": "one", "rate": "25"})
    script.put(f"{at}keeping/", {"people": "none", "rights": "Bay trust"})
    for told in (script.get(at).json(), script.get("/api/v1/selects/?cut=yes&keep=yes").json()["results"][0]):
        assert (told["in_cuts"], told["worth_keeping"]) == (["one"], {"people": "none", "rights": "Bay trust"})
    assert script.get("/api/v1/selects/?cut=no").json()["results"] == []
    with CaptureQueriesContext(connection) as few:
        script.get("/api/v1/selects/")
    for at in range(12, 20):
        selecting.put(cast.logger, uuid.uuid4(), a_clip, Mark(at, at + 5), 0)
    with django_assert_num_queries(len(few)):
        assert len(script.get("/api/v1/selects/").json()["results"]) == 9


def test_a_stranger_flags_nothing(cast, select):
    told = api_of(cast.stranger).put(f"/api/v1/selects/{select.id}/keeping/", {"people": "none"})
    assert told.status_code == 404
    assert api_of(cast.stranger).get("/api/v1/keeping/").json()["results"] == []


def test_tags_are_added_changed_merged_and_removed(cast, select):
    script = api_of(cast.editor)
    gull = cast.kb04.tags.get()
    made = script.post("/api/v1/tags/", {"production": "KB04", "name": "gul", "group": "story"}).json()
    assert (made["name"], made["group"], made["key"], made["former"]) == ("gul", "story", "", [])
    changed = script.put(f"/api/v1/tags/{made['id']}/", {"name": "heron", "key": "q"}).json()
    assert (changed["name"], changed["group"], changed["key"], changed["former"]) == ("heron", "story", "q", ["gul"])
    merged = script.post(f"/api/v1/tags/{changed['id']}/merge/", {"tags": [gull.id]})
    assert merged.status_code == 200 and set(merged.json()["former"]) == {"gul", "gull"}
    assert [tag.name for tag in select.tags.all()] == ["heron"]
    assert script.delete(f"/api/v1/tags/{changed['id']}/").status_code == 400
    spare = script.post("/api/v1/tags/", {"production": "KB04", "name": "spare"}).json()
    assert script.delete(f"/api/v1/tags/{spare['id']}/").status_code == 204


def test_another_productions_tag_is_not_merged(cast, select):
    other = cast.nr07.tags.create(name="net", folded="net")
    told = api_of(cast.editor).post(f"/api/v1/tags/{cast.kb04.tags.get().id}/merge/", {"tags": [other.id]})
    assert told.status_code == 404 and f"no tag with the number {other.id}" in told.json()["detail"]
