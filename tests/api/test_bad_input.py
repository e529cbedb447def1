"""Whatever is sent, the answer is a 4xx in words as JSON: never a fault, never somebody else's data."""

import json
import uuid

import pytest

from review.marking import selecting
from review.models import Select, SelectsList, Stint, Viewing
from tests.conftest import api_of

HUGE = 10**40
ODD_VALUES = [
    *(None, True, "", "abc", "\0", "\ud800", -1, 1.5, 1e308, HUGE, -HUGE, str(HUGE)),
    *([], {}, [[]], {"a": 1}, ["\0"], [None], [HUGE], [{}]),
]


@pytest.fixture
def theirs(cast, make_clip):
    """A clip, a select and its list in a production that the loggers of KB04 are not in."""
    clip = make_clip(card="NR07-261112-A01", production=cast.nr07)
    select = selecting.put(cast.stranger, uuid.uuid4(), clip, selecting.Mark(0, 10, note="secret"), 0)
    return clip, select


def refused(answer, *status):
    assert answer.status_code in (status or (400,)), (answer.status_code, answer.content[:500])
    assert isinstance(answer.json()["detail"], str) and answer.json()["detail"]
    assert "Traceback" not in answer.content.decode() and "/review/" not in answer.content.decode()
    return answer.json()


def send(script, method, address, body):
    """As bytes, so that what no library would write can be sent too."""
    return script.generic(method, address, body, content_type="application/json")


def bodies(cast, clip):
    """Every address that takes a body, with one that it would accept."""
    span = {"in_frame": 0, "out_frame": 10, "speed": 1.0, "muted": False}
    select = {"clip": clip.id, "in_frame": 0, "out_frame": 10, "tags": ["a"], "note": "n", "rating": 1, "version": 0}
    made = SelectsList.objects.create(production=cast.kb04, name="a list", made_by=cast.owner)
    return [
        ("PUT", f"/api/v1/selects/{uuid.uuid4()}/", select),
        ("POST", "/api/v1/lists/", {"name": "x", "production": "KB04", "selects": []}),
        ("PUT", f"/api/v1/lists/{made.id}/", {"name": "x", "selects": [], "version": 1}),
        ("POST", f"/api/v1/lists/{made.id}/add/", {"selects": []}),
        ("POST", "/api/v1/stints/", {"clip": clip.id, "in_frame": 0, "out_frame": 10, "logger": "logger"}),
        (
            "POST",
            f"/api/v1/clips/{clip.id}/watched/",
            {"viewing": str(uuid.uuid4()), "batch": 1, "spans": [span]},
        ),
        ("POST", "/api/v1/cards/", {"production": "KB04", "folder": "/nowhere"}),
        ("POST", f"/api/v1/cards/{clip.card_id}/accept/", {"reason": "because"}),
    ]


def test_odd_values_in_any_field_never_break_it(cast, a_clip):
    script = api_of(cast.owner)
    for method, address, good in bodies(cast, a_clip):
        for field in good:
            for odd in ODD_VALUES:
                answer = send(script, method, address, json.dumps({**good, field: odd}))
                assert answer.status_code < 500, (address, field, odd)
                if answer.status_code >= 400:
                    refused(answer, 400, 404, 409)
    for method, address, good in bodies_of_spans(a_clip):
        answer = send(script, method, address, json.dumps(good))
        assert refused(answer)["spans"]


def bodies_of_spans(clip):
    good = {"in_frame": 0, "out_frame": 10, "speed": 1.0, "muted": False}
    for field in good:
        for odd in (None, "abc", -1, HUGE, [], {}):
            spans = [{**good, field: odd}]
            body = {"viewing": str(uuid.uuid4()), "batch": 1, "spans": spans}
            yield "POST", f"/api/v1/clips/{clip.id}/watched/", body


@pytest.mark.parametrize(
    "body",
    [
        "",
        "{",
        "not json",
        "[]",
        "[1, 2]",
        "null",
        '"text"',
        "1",
        "NaN",
        '{"in_frame": NaN}',
        '{"rating": Infinity}',
        "[" * 100_000,
        '{"a":' * 100_000,
        "9" * 10_000,
        '{"rating": ' + "9" * 10_000 + "}",
    ],
    ids=lambda body: body[:12],
)
def test_a_body_that_is_no_object_is_refused(cast, a_clip, body):
    script = api_of(cast.owner)
    for method, address, _ in bodies(cast, a_clip):
        refused(send(script, method, address, body))
    assert not Select.objects.exists() and not Stint.objects.exists() and not Viewing.objects.exists()


def test_a_body_that_is_not_utf_8_or_not_json_is_refused(cast, a_clip):
    script = api_of(cast.logger)
    address = f"/api/v1/selects/{uuid.uuid4()}/"
    refused(send(script, "PUT", address, b'{"note": "\xff\xfe"}'))
    refused(script.put(address, "clip=1", content_type="application/x-www-form-urlencoded"), 415)


def test_a_note_is_cleaned_of_control_characters(cast, a_clip):
    body = {"clip": a_clip.id, "in_frame": 0, "out_frame": 5, "note": "a\0b\x1b[0m\r\nc", "tags": ["\tgull\n bird"]}
    told = api_of(cast.logger).put(f"/api/v1/selects/{uuid.uuid4()}/", body).json()
    assert (told["note"], told["tags"]) == ("ab[0m\nc", ["gull bird"])


def test_51_tags_are_refused_by_name(cast, a_clip):
    body = {"clip": a_clip.id, "in_frame": 0, "out_frame": 5, "tags": [f"tag {n}" for n in range(51)]}
    assert "50 is the most" in refused(api_of(cast.logger).put(f"/api/v1/selects/{uuid.uuid4()}/", body))["tags"][0]


@pytest.mark.parametrize(
    "key", ["abc", "0", "-1", "1.5", str(HUGE), "%00", "%ff", "..", "%2e%2e%2f", "null", "1 or 1=1"]
)
def test_an_address_that_names_nothing_is_not_found(cast, a_clip, key):
    script = api_of(cast.owner)
    for name in ("productions", "cards", "clips", "selects", "tags", "stints", "lists", "jobs"):
        for tail in ("", "watched/", "files/", "export/", "check/"):
            answer = script.get(f"/api/v1/{name}/{key}/{tail}")
            assert answer.status_code in (404, 405), (name, key, tail, answer.status_code)
    body = {"clip": a_clip.id, "in_frame": 0, "out_frame": 5}
    assert script.put(f"/api/v1/selects/{key}/", body).status_code in (400, 404)
    assert script.delete(f"/api/v1/selects/{key}/").status_code == 404
    assert script.delete(f"/api/v1/stints/{key}/").status_code == 404


@pytest.mark.parametrize("odd", ["abc", "\0", str(HUGE), "-1", "é", "'", "%", "x" * 5000])
def test_odd_filters_never_break_a_list(cast, a_clip, odd):
    script = api_of(cast.owner)
    names = ("production", "card", "clip", "camera", "date", "kind", "state", "name", "tag", "rating", "logger", "text")
    for where in ("productions", "cards", "clips", "selects", "tags", "stints", "lists", "jobs", "coverage"):
        for name in (*names, "group", "held", "page", "page_size", "format"):
            answer = script.get(f"/api/v1/{where}/", {name: odd})
            assert answer.status_code < 500
            if answer.status_code >= 400:
                refused(answer, 400, 404)


def test_a_filter_that_makes_no_sense_is_named(cast, a_clip):
    script = api_of(cast.owner)
    for where, wanted in (
        ("selects", {"rating": "9"}),
        ("selects", {"clip": "abc"}),
        ("cards", {"date": "12.11.2026"}),
        ("clips", {"date": "2026-02-30"}),
        ("jobs", {"clip": "abc"}),
        ("stints", {"clip": "abc"}),
    ):
        assert refused(script.get(f"/api/v1/{where}/", wanted))[next(iter(wanted))]


def test_ids_of_another_production_are_as_good_as_none(cast, a_clip, theirs):
    clip, select = theirs
    script = api_of(cast.owner)
    body = {"clip": clip.id, "in_frame": 0, "out_frame": 5}
    assert "no such clip" in refused(script.put(f"/api/v1/selects/{uuid.uuid4()}/", body), 404)["clip"][0]
    told = refused(script.put(f"/api/v1/selects/{select.id}/", body | {"clip": a_clip.id}))
    assert "This id is taken" in told["detail"] and "secret" not in json.dumps(told)
    refused(script.delete(f"/api/v1/selects/{select.id}/"), 404)
    refused(script.post("/api/v1/stints/", {"clip": clip.id}), 404)
    refused(
        script.post(f"/api/v1/clips/{clip.id}/watched/", {"viewing": str(uuid.uuid4()), "batch": 0, "spans": []}), 404
    )
    told = refused(script.post("/api/v1/lists/", {"name": "x", "production": "KB04", "selects": [str(select.id)]}))
    assert "not selects of KB04" in told["selects"][0]
    told = refused(script.post("/api/v1/lists/", {"name": "x", "production": "NR07", "selects": []}))
    assert "no production 'NR07' that you are a member of" in told["production"]
    unknown = refused(script.get(f"/api/v1/clips/{clip.id + 10**6}/"), 404)
    assert refused(script.get(f"/api/v1/clips/{clip.id}/"), 404) == unknown  # the two are not told apart


def test_an_unknown_address_or_method_is_told_in_json(cast, a_clip):
    script = api_of(cast.owner)
    refused(script.post("/api/v1/clips/", {}), 405)
    refused(script.delete(f"/api/v1/cards/{a_clip.card_id}/"), 405)
    refused(script.patch(f"/api/v1/selects/{uuid.uuid4()}/", {}), 405)
    assert script.get("/api/v1/nothing/").status_code == 404
