"""Who may go where: every address of the site, taken from the site itself, as everybody, against one table.

The roles and what they may do are the house's own.
"""

import base64
import json
import re
import uuid
from urllib.parse import quote

import pytest
from django.db import transaction
from django.urls import URLPattern, URLResolver, get_resolver
from django.utils import timezone

from review import field_notes, jobs, lists, roles, selecting, stints
from review.models import Card, Clip, Job, Medium, Membership, TapeDrive
from tests.conftest import api_of, browser_of

ROLES = [role.replace(" ", "_") for role in roles.ROLES]
ANYBODY = set(ROLES)
CARDS = {"media_manager", "owner"}
MARKS = {"logger", "editor", "producer", "owner"}
RULES = {"media_manager", "producer", "owner"}
OWNER = {"owner"}
SHE_HERSELF = {"logger", "producer", "owner"}  # the stint is the logger's

# Address -> method -> (who may, what it then answers). `*` stands for every number or id in it.
PAGES = {
    "": {"GET": (ANYBODY, 302)},  # to the one production's cards
    "password/": {"GET": (ANYBODY, 200)},
    "cards/": {"GET": (ANYBODY, 200)},
    "cards/scan/": {"POST": (CARDS, 302)},
    "cards/take-in/": {"POST": (CARDS, 404)},  # there is no such folder
    "cards/*/": {"GET": (ANYBODY, 200)},
    "cards/*/check/": {"POST": (CARDS, 302)},
    "cards/*/accept/": {"POST": (CARDS, 302)},
    "cards/*/copies/": {"POST": (CARDS, 404)},  # there is no such folder
    "copies/*/prove/": {"POST": (CARDS, 400)},  # the card is held
    "copies/*/what/": {"POST": (CARDS, 302)},
    "copies/*/forget/": {"POST": (CARDS, 302)},
    "shelf/": {"GET": (ANYBODY, 200)},
    "shelf/prove/": {"POST": (CARDS, 302)},
    "shelf/media/*/": {"GET": (ANYBODY, 200), "POST": (CARDS, 302)},
    "shelf/media/*/retire/": {"POST": (CARDS, 302)},
    "shelf/drives/": {"POST": (CARDS, 302)},
    "shelf/drives/*/remove/": {"POST": (CARDS, 302)},
    "rules/": {"GET": (ANYBODY, 200), "POST": (RULES, 302)},
    "notes/": {"GET": (ANYBODY, 200), "POST": (RULES, 302)},
    "notes/*/delete/": {"POST": (RULES, 302)},
    "jobs/*/retry/": {"POST": (CARDS, 302)},
    "clips/next/": {"GET": (ANYBODY, 302)},
    "clips/*/": {"GET": (ANYBODY, 200)},
    "media/*/proxy.mp4": {"GET": (ANYBODY, 404)},  # it is not made in this test
    "selects/": {"GET": (ANYBODY, 200)},
    "lists/": {"GET": (ANYBODY, 200), "POST": (MARKS, 302)},
    "lists/*/": {"GET": (ANYBODY, 200)},
    "lists/*/stringouts/": {"GET": (ANYBODY, 200), "POST": (ANYBODY, 400)},  # there is no proxy
    "stringouts/*/video.mp4": {"GET": (ANYBODY, 404)},  # it is not made in this test
    "stringouts/*/retry/": {"POST": (ANYBODY, 302)},
    "coverage/": {"GET": (ANYBODY, 200)},
    "people/": {"GET": (OWNER, 200), "POST": (OWNER, 200)},  # the new password is on the answer
    "people/*/remove/": {"POST": (OWNER, 302)},
    "people/*/password/": {"POST": (OWNER, 200)},
}
OPEN_PAGES = {"sign-in/", "sign-out/"}

API = {
    "productions/": {"GET": (ANYBODY, 200)},
    "productions/*/": {"GET": (ANYBODY, 200)},
    "cards/": {"GET": (ANYBODY, 200), "POST": (CARDS, 400)},  # the folder is not under a card root
    "cards/*/": {"GET": (ANYBODY, 200)},
    "cards/*/check/": {"POST": (CARDS, 202)},
    "cards/*/accept/": {"POST": (CARDS, 200)},
    "cards/*/files/": {"GET": (ANYBODY, 200)},
    "cards/*/clock/": {"POST": (MARKS, 400), "DELETE": (MARKS, 200)},  # a clap on one card
    "cards/*/clock-by-sound/": {"GET": (MARKS, 400)},  # there is no proxy
    "cards/*/copies/": {"GET": (ANYBODY, 200), "POST": (CARDS, 400)},  # the folder is not under a card root
    "clips/": {"GET": (ANYBODY, 200)},
    "clips/*/": {"GET": (ANYBODY, 200)},
    "clips/*/pulse/": {"POST": (ANYBODY, 200)},
    "clips/*/leave/": {"POST": (ANYBODY, 204)},
    "clips/*/angles/": {"GET": (ANYBODY, 200)},
    "clips/*/notes/": {"GET": (ANYBODY, 200)},
    "clips/*/watched/": {"GET": (ANYBODY, 200), "POST": (ANYBODY, 200)},
    "selects/": {"GET": (ANYBODY, 200)},
    "selects/*/": {"GET": (ANYBODY, 200), "PUT": (MARKS, 200), "DELETE": (MARKS, 200)},
    "selects/*/carry/": {"POST": (MARKS, 200)},
    "habits/": {"GET": (ANYBODY, 200), "POST": (ANYBODY, 200)},
    "tags/": {"GET": (ANYBODY, 200)},
    "tags/*/": {"GET": (ANYBODY, 200)},
    "stints/": {"GET": (ANYBODY, 200), "POST": (MARKS, 201)},
    "stints/*/": {"GET": (ANYBODY, 200), "DELETE": (SHE_HERSELF, 200)},
    "lists/": {"GET": (ANYBODY, 200), "POST": (MARKS, 201)},
    "lists/*/": {"GET": (ANYBODY, 200), "PUT": (MARKS, 200)},
    "lists/*/add/": {"POST": (MARKS, 200)},
    "lists/*/export/": {"GET": (ANYBODY, 200)},
    "coverage/": {"GET": (ANYBODY, 200)},
    "jobs/": {"GET": (ANYBODY, 200)},
    "jobs/*/": {"GET": (ANYBODY, 200)},
}
OPEN_API = {"schema/"}


def addresses(resolver=None, prefix=""):
    """Every address that the site answers, with `*` for what is filled in."""
    for entry in (resolver or get_resolver()).url_patterns:
        route = prefix + _plain(entry)
        if isinstance(entry, URLResolver):
            yield from addresses(entry, route)
        elif isinstance(entry, URLPattern):
            yield route


def _plain(entry) -> str:
    text = str(entry.pattern)
    text = re.sub("<int:[a-z_]+>", "*", text)
    text = text.replace("<str:name>", "proxy.mp4")
    for key in ("pk", "code"):
        text = text.replace(rf"(?P<{key}>[^/.\0]+)", "*")
    return text.strip("^$")


def test_the_table_holds_every_address():
    found = set(addresses())
    assert found == {*PAGES, *OPEN_PAGES} | {f"api/v1/{path}" for path in {*API, *OPEN_API}}
    assert not [path for path in found if "<" in path]


def test_the_table_holds_every_method(cast):
    script = api_of(cast.owner)
    for path, methods in API.items():
        told = script.options("/api/v1/" + path.replace("*", "1"))
        allowed = set(told["Allow"].split(", ")) - {"OPTIONS", "HEAD"}
        assert allowed == set(methods), path


@pytest.fixture
def site(cast, make_clip):
    """One of everything in KB04, and the address and body for every row of the tables."""
    clip = make_clip()
    select = selecting.put(cast.logger, uuid.uuid4(), clip, selecting.Mark(0, 10, ("gull",)), 0)
    spare = make_clip("SPARE")
    stint = stints.take(cast.logger, spare)
    made = lists.make(cast.editor, cast.kb04, "best", [select.id])
    Card.objects.update(state="held", checked_at=timezone.now())
    medium = Medium.objects.create(production=cast.kb04, volume="named:shuttle", label="shuttle", kind="disk")
    copy = clip.card.copies.create(medium=medium, folder="/nowhere/else")
    rows = b"date,timecode,text\n2026-11-12,10:00:01:00,a gull lands\n"
    field_notes.take(cast.owner, cast.kb04, rows)
    note = cast.kb04.field_notes.get()
    drive = TapeDrive.objects.create(production=cast.kb04, label="post house", generation=8)
    job = jobs.ask(Job.Kind.PICTURES, card=clip.card, clip=clip, why="a test")
    Job.objects.update(state="failed")
    stringout = made.stringouts.create(made_by=cast.editor, events=[], list_version=1)
    member = Membership.objects.get(person=cast.media_manager)
    numbers = {
        "productions": "KB04",
        "cards": clip.card_id,
        "clips": clip.id,
        "media": clip.id,
        "selects": select.id,
        "tags": cast.kb04.tags.get().id,
        "stints": stint.id,
        "lists": made.id,
        "jobs": job.id,
        "stringouts": stringout.id,
        "people": member.id,
        "copies": copy.id,
        "shelf/media": medium.id,
        "shelf/drives": drive.id,
        "notes": note.id,
    }
    bodies = {
        "cards/*/accept/": {"reason": "because it is fine"},
        "cards/": {"production": "KB04", "folder": "/nowhere"},
        "clips/*/pulse/": {"viewing": str(uuid.uuid4()), "frame": 0},
        "clips/*/leave/": {"viewing": str(uuid.uuid4()), "frame": 0, "remark": "go on here"},
        "clips/*/watched/": {"viewing": str(uuid.uuid4()), "batch": 0, "spans": []},
        "selects/*/": {"clip": clip.id, "in_frame": 1, "out_frame": 9, "version": 1},
        "stints/": {"clip": clip.id},
        "lists/": {"name": "another", "production": "KB04", "selects": []},
        "lists/*/": {"name": "renamed", "version": 1},
        "lists/*/add/": {"selects": [str(select.id)]},
        "people/": {"name": "maya", "role": "logger"},
        "cards/*/clock/": {"clip": clip.id, "frame": 0, "other": clip.id, "other_frame": 1},
        "habits/": {"catch_seconds": 12},
        "cards/*/copies/": {"folder": "/nowhere"},
        "shelf/media/*/": {"label": "shuttle", "kind": "disk"},
        "shelf/drives/": {"label": "ours", "generation": "9"},
        "notes/": {"previewed": quote(base64.b64encode(rows))},
        "rules/": {"copies": "2", "devices": "1", "elsewhere": "0"},
    }

    def fill(path):
        kind = path.partition("/*")[0]
        return path.replace("*", str(numbers.get(kind, ""))), bodies.get(path)

    return fill


def page(person, site, path, method, query=""):
    address, body = site(path)
    query = query or ("?production=KB04" if method == "POST" else "")  # what changes something names its production
    return browser_of(person).generic(method, f"/{address}{query}", *_form(body))


def _form(body):
    text = "&".join(f"{key}={value}" for key, value in (body or {}).items())
    return text, "application/x-www-form-urlencoded"


def call(person, site, path, method):
    address, body = site(path)
    queries = {"lists/*/export/": "?as=csv", "coverage/": "?production=KB04"}
    clip = site("clips/*/")[0].split("/")[1]
    queries["cards/*/clock-by-sound/"] = f"?clip={clip}&other={clip}"
    query = queries.get(path, "")
    if method == "DELETE":
        body = {}
    return api_of(person).generic(
        method, f"/api/v1/{address}{query}", json.dumps(body or {}), content_type="application/json"
    )


@pytest.mark.parametrize("role", ROLES)
def test_a_member_goes_where_the_table_says(cast, site, role):
    """Each row from the same start: what one row changes is undone before the next."""
    person = getattr(cast, role)
    for table, ask in ((PAGES, page), (API, call)):
        for path, methods in table.items():
            for method, (may, answer) in methods.items():
                with transaction.atomic():
                    told = ask(person, site, path, method)
                    expected = answer if role in may else 403
                    assert told.status_code == expected, (role, method, path, told.content[:300])
                    if told.status_code == 403:
                        assert b"you must be" in told.content
                    transaction.set_rollback(True)


def test_a_stranger_finds_nothing_of_it(cast, site):
    for path, methods in PAGES.items():
        for method in methods:
            if "*" in path:
                told = page(cast.stranger, site, path, method)
                assert told.status_code == 404, (method, path)
                assert b"gull" not in told.content and b"A001C001" not in told.content
    for path in ("cards/", "selects/", "lists/", "coverage/", "people/", "clips/next/", "shelf/", "rules/", "notes/"):
        told = page(cast.stranger, site, path, "GET", "?production=KB04")
        assert told.status_code == 404, path
        assert b"you are not a member" in told.content
        assert b"KB04" not in page(cast.stranger, site, path, "GET").content
    for path, methods in API.items():
        for method in methods:
            told = call(cast.stranger, site, path, method)
            if path == "habits/":
                continue  # everybody's are their own
            if method == "GET" and "*" not in path and path != "coverage/":
                rows = told.json()["results"]
                assert told.status_code == 200 and all("KB04" not in json.dumps(row) for row in rows), path
            else:
                assert told.status_code in (400, 404), (method, path, told.status_code)
                assert b"A001C001" not in told.content and b"gull" not in told.content
    assert Card.objects.get(name="KB04-261112-A01").state == "held"
    assert Clip.objects.get(name="A001C001").selects.get().version == 1


def test_nobody_is_asked_to_sign_in(cast, site):
    for path, methods in PAGES.items():
        for method in methods:
            told = page(None, site, path, method)
            assert (told.status_code, told["Location"].split("?")[0]) == (302, "/sign-in/"), (method, path)
    for path, methods in API.items():
        for method in methods:
            assert call(None, site, path, method).status_code == 401, (method, path)
    assert browser_of(None).get("/sign-in/").status_code == 200


def test_a_change_is_never_made_by_a_plain_link(cast, site):
    """A page that changes something takes POST only."""
    for path, methods in PAGES.items():
        if "GET" not in methods:
            assert page(cast.owner, site, path, "GET").status_code == 405, path


def test_a_form_that_does_not_say_its_production_is_refused(cast):
    """Another tab may have changed which one is remembered."""
    for path in ("cards/scan/", "lists/", "people/"):
        told = browser_of(cast.owner).post(f"/{path}", {"name": "x", "role": "logger"})
        assert told.status_code == 400
        assert b"did not say which production it is for; load it again" in told.content


def test_a_form_from_elsewhere_is_refused_in_words(cast):
    browser = browser_of(cast.owner, enforce_csrf_checks=True)
    told = browser.post("/people/", {"name": "maya", "role": "owner"})
    assert told.status_code == 403
    assert b"load it again and repeat" in told.content


def test_the_production_in_the_address_must_be_ones_own(cast):
    Membership.objects.create(production=cast.nr07, person=cast.logger, role=roles.EDITOR)
    browser = browser_of(cast.logger)
    assert b"Night Run" in browser.get("/cards/?production=nr07").content
    assert b"<b>NR07</b>" in browser.get("/selects/").content  # and is remembered
    assert browser.get("/").status_code == 200  # with two productions, one is chosen
