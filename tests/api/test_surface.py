"""The JSON surface as scripts rely on it: addresses, fields, paging, filters, errors. Its shape is the house's own."""

import csv
import io
import json
import uuid

import opentimelineio as otio
import pytest

from review.marking import selecting
from review.models import Card, Clip, Job
from review.work import jobs
from tests.conftest import PASSWORD, api_of, browser_of

SELECT = {"in_frame": 5, "out_frame": 20, "tags": ["gull"], "note": "it lands", "rating": 4, "version": 0}


@pytest.fixture
def script(cast):
    return api_of(cast.logger)


def put(script, clip, select_id=None, **changes):
    select_id = select_id or uuid.uuid4()
    return script.put(f"/api/v1/selects/{select_id}/", {**SELECT, "clip": clip.id, **changes})


# Selects ---------------------------------------------------------------------------------------


def test_a_select_is_put_read_changed_and_deleted(script, a_clip):
    select_id = str(uuid.uuid4())
    made = put(script, a_clip, select_id)
    assert made.status_code == 200
    told = made.json()
    assert {name: told[name] for name in SELECT} == SELECT | {"version": 1}
    assert (told["id"], told["clip"], told["card"], told["clip_name"]) == (
        select_id,
        a_clip.id,
        "KB04-261112-A01",
        "A001C001",
    )
    assert (told["file"], told["source_in"], told["source_out"]) == (
        "CLIP/A001C001.MOV",
        "10:00:00:05",
        "10:00:00:20",
    )
    assert (told["logger"], told["deleted"]) == ("logger", False)
    assert script.get(f"/api/v1/selects/{select_id}/").json() == told
    assert put(script, a_clip, select_id, version=1, rating=5).json()["version"] == 2
    gone = script.delete(f"/api/v1/selects/{select_id}/", {"version": 2}).json()
    assert (gone["deleted"], gone["version"]) == (True, 3)
    assert script.get("/api/v1/selects/").json()["count"] == 0
    assert put(script, a_clip, select_id, version=3).json()["deleted"] is False


def test_only_clip_in_and_out_are_needed(script, a_clip):
    answer = script.put(f"/api/v1/selects/{uuid.uuid4()}/", {"clip": a_clip.id, "in_frame": 0, "out_frame": 50})
    assert (answer.status_code, answer.json()["rating"], answer.json()["tags"]) == (200, 0, [])


def test_putting_twice_is_putting_once(script, a_clip):
    select_id = uuid.uuid4()
    assert put(script, a_clip, select_id).json() == put(script, a_clip, select_id).json()
    assert a_clip.selects.count() == 1


def test_a_conflict_shows_what_it_is_now(cast, script, a_clip):
    select_id = uuid.uuid4()
    put(script, a_clip, select_id)
    put(api_of(cast.editor), a_clip, select_id, version=1, note="hers")
    answer = put(script, a_clip, select_id, version=1, note="his")
    assert answer.status_code == 409
    assert "Somebody changed this select" in answer.json()["detail"]
    assert (answer.json()["current"]["note"], answer.json()["current"]["version"]) == ("hers", 2)
    assert script.delete(f"/api/v1/selects/{select_id}/", {"version": 1}).json()["current"]["note"] == "hers"


def test_a_refused_field_is_named(script, a_clip):
    answer = put(script, a_clip, out_frame=3)
    assert answer.status_code == 400
    assert "must be after the in point" in answer.json()["detail"]
    assert answer.json()["out_frame"] == [answer.json()["detail"]]


def test_selects_are_paged_and_filtered(script, a_clip):
    for number in range(7):
        put(script, a_clip, in_frame=number, out_frame=number + 1, rating=number % 3)
    first = script.get("/api/v1/selects/", {"page_size": 3}).json()
    assert (first["count"], len(first["results"]), first["previous"]) == (7, 3, None)
    third = script.get("/api/v1/selects/", {"page_size": 3, "page": 3}).json()
    assert (len(third["results"]), third["next"]) == (1, None)
    assert [row["in_frame"] for row in first["results"]] == [0, 1, 2]
    assert script.get("/api/v1/selects/", {"rating": 2, "tag": "gull", "production": "KB04"}).json()["count"] == 2
    assert script.get("/api/v1/selects/", {"page_size": 10_000}).json()["count"] == 7


# Lists -----------------------------------------------------------------------------------------


@pytest.fixture
def a_list(cast, a_clip):
    picked = [
        str(selecting.put(cast.logger, uuid.uuid4(), a_clip, selecting.Mark(at, at + 10), 0).id) for at in (20, 0)
    ]
    answer = api_of(cast.editor).post("/api/v1/lists/", {"name": "best", "production": "KB04", "selects": picked})
    assert answer.status_code == 201
    return answer.json()


def test_a_list_is_posted_and_read(script, a_list):
    assert (a_list["name"], a_list["production"], a_list["version"], a_list["made_by"]) == ("best", "KB04", 1, "editor")
    assert script.get(f"/api/v1/lists/{a_list['id']}/").json() == a_list
    assert script.get("/api/v1/lists/", {"production": "KB04", "name": "best"}).json()["results"] == [a_list]
    assert script.get("/api/v1/lists/", {"name": "worst"}).json()["count"] == 0


def test_a_list_is_ordered_and_added_to(script, a_list, a_clip):
    address = f"/api/v1/lists/{a_list['id']}/"
    turned = script.put(address, {"selects": a_list["selects"][::-1], "version": 1}).json()
    assert (turned["selects"], turned["version"], turned["name"]) == (a_list["selects"][::-1], 2, "best")
    more = put(script, a_clip).json()["id"]
    added = script.post(f"{address}add/", {"selects": [more]}).json()
    assert (added["selects"], added["added"]) == ([*turned["selects"], more], 1)
    assert script.post(f"{address}add/", {"selects": [more]}).json()["added"] == 0
    assert script.put(address, {"name": "better", "version": 3}).json()["name"] == "better"
    late = script.put(address, {"selects": [], "version": 1})
    assert (late.status_code, late.json()["current"]["version"]) == (409, 4)


@pytest.mark.parametrize("kind", ["edl", "csv", "otio"])
def test_a_list_is_exported(script, a_list, kind):
    answer = script.get(f"/api/v1/lists/{a_list['id']}/export/", {"as": kind})
    assert answer.status_code == 200
    assert answer["Content-Disposition"] == f'attachment; filename="best.{kind}"'
    assert answer["X-Content-Type-Options"] == "nosniff"
    text = answer.content.decode("utf-8-sig")
    if kind == "csv":
        assert [row["in frame"] for row in csv.DictReader(io.StringIO(text))] == ["20", "0"]
    else:
        adapter, more = ("cmx_3600", {"rate": 25}) if kind == "edl" else ("otio_json", {})
        clips = otio.adapters.read_from_string(text, adapter, **more).video_tracks()[0].find_clips()
        assert [clip.source_range.start_time.value for clip in clips] == [900_020, 900_000]


def test_an_unknown_export_is_refused(script, a_list):
    for asked in ({"as": "doc"}, {}, {"as": "edl\0"}):
        answer = script.get(f"/api/v1/lists/{a_list['id']}/export/", asked)
        assert answer.status_code == 400
        assert "use one of edl, csv, otio" in answer.json()["as"][0]


# Cards, clips, jobs ----------------------------------------------------------------------------


def test_a_card_is_posted_checked_listed_and_accepted(cast, root):
    (root / "KB04-261112-A01").mkdir()
    script = api_of(cast.media_manager)
    made = script.post("/api/v1/cards/", {"production": "KB04", "folder": str(root / "KB04-261112-A01")})
    assert (made.status_code, made.json()["state"], made.json()["reel"]) == (201, "found", "61112A01")
    address = f"/api/v1/cards/{made.json()['id']}/"
    asked = script.post(f"{address}check/")
    assert (asked.status_code, asked.json()["kind"], asked.json()["state"]) == (202, "check", "waiting")
    Card.objects.update(state="held")
    assert script.get("/api/v1/cards/", {"state": "held", "camera": "A"}).json()["count"] == 1
    assert script.get("/api/v1/cards/", {"date": "2026-11-13"}).json()["count"] == 0
    refused = script.post(f"{address}accept/", {"reason": "no"})
    assert (refused.status_code, "Say why" in refused.json()["reason"][0]) == (400, True)
    accepted = script.post(f"{address}accept/", {"reason": "The empty card was copied on purpose."}).json()
    assert (accepted["state"], accepted["accepted_by"]) == ("accepted", "media-manager")


def test_a_cards_files_tell_their_hashes(cast, make_card):
    card = make_card().card
    told = api_of(cast.logger).get(f"/api/v1/cards/{card.id}/files/").json()
    (file,) = told["results"]
    assert (file["path"], file["proven"], list(file["hashes"])) == ("CLIP/A001C001.MOV", False, ["xxh128"])


def test_clips_tell_their_frames_and_are_filtered(script, make_clip):
    clip = make_clip()
    make_clip("B1", card="KB04-261113-B01", kind=Clip.Kind.SOUND)
    told = script.get(f"/api/v1/clips/{clip.id}/").json()
    assert (told["frames"], told["rate"], told["drop"], told["start"]) == (50, "25", False, "10:00:00:00")
    for wanted in (
        {"card": "KB04-261112-A01"},
        {"camera": "A"},
        {"kind": "video"},
        {"date": "2026-11-12"},
        {"production": "KB04", "card": "KB04-261112-A01"},
    ):
        assert [row["id"] for row in script.get("/api/v1/clips/", wanted).json()["results"]] == [clip.id], wanted


def test_watched_is_sent_and_read(cast, script, a_clip):
    address = f"/api/v1/clips/{a_clip.id}/watched/"
    span = {"in_frame": 0, "out_frame": 10, "speed": 1, "muted": False}
    told = script.post(address, {"viewing": str(uuid.uuid4()), "batch": 1, "spans": [span]})
    assert told.status_code == 200
    assert told.json() == {
        "watched": [[0, 10]],
        "skimmed": [],
        "mine_watched": [[0, 10]],
        "mine_skimmed": [],
        "watched_frames": 10,
        "skimmed_frames": 0,
        "unwatched_frames": 40,
    }
    others = api_of(cast.editor).get(address).json()
    assert (others["watched"], others["mine_watched"]) == ([[0, 10]], [])


def test_stints_are_taken_handed_out_and_handed_back(cast, script, a_clip):
    taken = script.post("/api/v1/stints/", {"clip": a_clip.id, "in_frame": 0, "out_frame": 25})
    assert (taken.status_code, taken.json()["logger"], taken.json()["ended_at"]) == (201, "logger", None)
    producer = api_of(cast.producer)
    given = producer.post("/api/v1/stints/", {"clip": a_clip.id, "in_frame": 25, "logger": "editor"})
    assert (given.json()["logger"], given.json()["out_frame"]) == ("editor", 50)
    assert script.get("/api/v1/stints/", {"held": "yes", "clip": a_clip.id}).json()["count"] == 2
    assert script.get("/api/v1/stints/", {"logger": "editor"}).json()["count"] == 1
    assert script.get("/api/v1/stints/", {"clip": a_clip.id + 1}).json()["count"] == 0
    assert script.delete(f"/api/v1/stints/{taken.json()['id']}/").json()["ended_at"]
    assert script.get("/api/v1/stints/", {"held": "yes"}).json()["count"] == 1
    clash = script.post("/api/v1/stints/", {"clip": a_clip.id, "in_frame": 30})
    assert (clash.status_code, "editor holds 10:00:01:00" in clash.json()["clip"][0]) == (400, True)
    unknown = producer.post("/api/v1/stints/", {"clip": a_clip.id, "logger": "stranger", "out_frame": 5})
    assert (unknown.status_code, "is not in this production" in unknown.json()["logger"][0]) == (404, True)


def test_jobs_tell_how_far_they_are(script, make_clip):
    clip, other = make_clip(), make_clip("OTHER")
    job = jobs.ask(Job.Kind.PROXY, card=clip.card, clip=clip, why="a test")
    jobs.ask(Job.Kind.PROXY, card=clip.card, clip=other, why="a test")
    jobs.claim(job.id).progress(10, 50)
    found = script.get("/api/v1/jobs/", {"card": "KB04-261112-A01", "clip": clip.id, "kind": "proxy"}).json()
    (told,) = found["results"]
    assert (told["id"], told["state"], told["done"], told["total"], told["clip"]) == (
        job.id,
        "running",
        10,
        50,
        "A001C001",
    )
    assert script.get("/api/v1/jobs/", {"state": "waiting"}).json()["count"] == 1


def test_productions_and_tags(cast, script, a_clip):
    put(script, a_clip)
    assert script.get("/api/v1/productions/").json()["results"] == [
        {"code": "KB04", "title": "Kestrel Bay", "rate": "25", "drop": False, "roles": ["logger"]}
    ]
    assert script.get("/api/v1/productions/KB04/").json()["title"] == "Kestrel Bay"
    (tag,) = script.get("/api/v1/tags/", {"production": "KB04"}).json()["results"]
    assert (tag["name"], tag["production"], len(tag["key"])) == ("gull", "KB04", 1)


# Signing in ------------------------------------------------------------------------------------


def test_a_script_needs_its_token(cast, a_clip):
    answer = api_of(None).get("/api/v1/clips/")
    assert (answer.status_code, answer["WWW-Authenticate"]) == (401, "Token")
    assert answer.json()["detail"]
    wrong = api_of(None)
    wrong.credentials(HTTP_AUTHORIZATION="Token 0123456789")
    assert wrong.get("/api/v1/clips/").status_code == 401
    script = api_of(cast.logger)
    cast.logger.is_active = False
    cast.logger.save()
    assert script.get("/api/v1/clips/").status_code == 401


def test_a_page_uses_its_session_and_must_send_its_csrf_token(cast, a_clip):
    browser = browser_of(None, enforce_csrf_checks=True)
    page = browser.get("/sign-in/")
    body = {"username": "logger", "password": PASSWORD, "csrfmiddlewaretoken": browser.cookies["csrftoken"].value}
    assert browser.post("/sign-in/", body).status_code == 302 and page.status_code == 200
    address, data = f"/api/v1/selects/{uuid.uuid4()}/", json.dumps({**SELECT, "clip": a_clip.id})
    refused = browser.put(address, data, content_type="application/json")
    assert (refused.status_code, "CSRF" in refused.json()["detail"]) == (403, True)
    headers = {"X-CSRFToken": browser.cookies["csrftoken"].value}
    assert browser.put(address, data, content_type="application/json", headers=headers).status_code == 200
