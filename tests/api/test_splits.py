"""Splits over the JSON surface: proposed, moved, accepted and discarded by scripts."""

import pytest

from review.models import Stint
from tests.conftest import api_of

MINUTE = 60 * 25


@pytest.fixture
def shoot(make_clip):
    return [make_clip(f"A{at}", frames=10 * MINUTE, start=f"1{at}:00:00:00", proxy_state="ready") for at in range(4)]


@pytest.fixture
def script(cast):
    return api_of(cast.producer)


def propose(script, **wanted):
    return script.post("/api/v1/splits/", {"production": "KB04", "wanted": wanted, "hours": {"logger": 8, "editor": 8}})


def test_it_works(cast, script, shoot):
    made = propose(script, cameras=["A"])
    told = made.json()
    assert (made.status_code, told["state"], told["version"], told["nobodys"]) == (201, "proposed", 1, 0)
    assert {share["logger"]: (share["given"], share["pieces"], share["off"]) for share in told["shares"]} == {
        "logger": (1200, 2, 0),
        "editor": (1200, 2, 0),
    }
    piece = told["pieces"][0]
    assert (piece["card"], piece["clip_name"], piece["seconds"]) == ("KB04-261112-A01", "A0", 600)
    address = f"/api/v1/splits/{told['id']}/"
    moved = script.put(address, {"version": 1, "moves": {piece["id"]: None}}).json()
    assert (moved["version"], moved["nobodys"]) == (2, 600)
    slow = api_of(cast.owner).put(address, {"version": 1, "moves": {piece["id"]: "owner"}})
    assert (slow.status_code, slow.json()["current"]["version"]) == (409, 2)
    assert script.post(f"{address}accept/", {"version": 1}).status_code == 409
    done = script.post(f"{address}accept/", {"version": 2}).json()
    assert done["state"] == "accepted" and Stint.objects.count() == 3
    assert {(share["held"], share["given"]) for share in done["shares"]} == {(None, 1200), (None, 600)}
    assert (done["even"], done["nobodys"]) == (None, 600)  # what is not on record is not worked out of today's
    found = script.get("/api/v1/splits/", {"production": "KB04", "state": "accepted"}).json()
    assert [row["id"] for row in found["results"]] == [told["id"]]
    stint = script.get("/api/v1/stints/", {"held": "yes"}).json()["results"][0]
    assert (stint["split"], stint["second"]) == (told["id"], False)


def test_a_proposal_is_put_away(script, shoot):
    address = f"/api/v1/splits/{propose(script).json()['id']}/"
    assert script.post(f"{address}discard/").json()["state"] == "discarded"
    refused = script.post(f"{address}accept/", {"version": 1})
    assert refused.status_code == 400 and "was discarded already" in refused.json()["state"][0]


def test_a_stretch_is_taken(cast, shoot):
    taken = api_of(cast.logger).post("/api/v1/stints/stretch/", {"production": "KB04", "minutes": 15})
    assert taken.status_code == 201
    assert [(row["clip_name"], row["out_frame"], row["logger"]) for row in taken.json()] == [
        ("A0", 10 * MINUTE, "logger"),
        ("A1", 5 * MINUTE, "logger"),
    ]


@pytest.mark.parametrize(
    ("body", "field"),
    [
        ({"hours": {"logger": 8}}, "production"),
        ({"production": "KB04"}, "hours"),
        ({"production": "KB04", "hours": {}}, "hours"),
        ({"production": "KB04", "hours": {"logger\0": 8}}, "hours"),
        ({"production": "KB04", "hours": {"logger": 1e300}}, "hours"),
        ({"production": "KB04", "hours": {"logger": 8}, "wanted": {"days": ["soon"]}}, "wanted"),
        ({"production": "KB04", "hours": {"logger": 8}, "wanted": {"minutes_an_hour": 1e9}}, "minutes_an_hour"),
        ({"production": "NR07", "hours": {"stranger": 8}}, "production"),
    ],
)
def test_what_cannot_be_proposed_is_told_by_its_field(script, shoot, body, field):
    refused = script.post("/api/v1/splits/", body)
    assert refused.status_code == 400 and refused.json()[field]


@pytest.mark.parametrize("moves", [{"x": "logger"}, {"-1": "logger"}, {"9" * 30: "logger"}, {"1": 5}, [], None])
def test_moves_that_make_no_sense_are_refused(script, shoot, moves):
    address = f"/api/v1/splits/{propose(script).json()['id']}/"
    assert script.put(address, {"version": 1, "moves": moves}).status_code in (400, 404)


def test_a_stranger_finds_no_split(cast, script, shoot):
    address = f"/api/v1/splits/{propose(script).json()['id']}/"
    other = api_of(cast.stranger)
    assert other.get(address).status_code == 404
    assert other.put(address, {"version": 1, "moves": {}}).status_code == 404
    assert other.post(f"{address}accept/", {"version": 1}).status_code == 404
    assert other.get("/api/v1/splits/").json()["count"] == 0
