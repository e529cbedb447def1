"""Every address of the site, who may go there and what it then answers; and one of everything to go there with.

The addresses come from the URL table itself, so that a new one cannot be forgotten. The roles and what they may do are
the house's own.
"""

import base64
import json
import re
import uuid
from urllib.parse import quote

from django.urls import URLPattern, URLResolver, get_resolver
from django.utils import timezone

from review import roles
from review.desk import keeping, lists, returned_cuts, searches
from review.marking import selecting, taking_notes
from review.models import AccessToken, Card, Job, Medium, Membership, Split, TapeDrive
from review.record import stints
from review.team import second_looks
from review.work import jobs
from tests.conftest import api_of, browser_of

ROLES = [role.replace(" ", "_") for role in roles.ROLES]
ANYBODY = set(ROLES)
CARDS = {"media_manager", "owner"}
MARKS = {"logger", "editor", "producer", "owner"}
RULES = {"media_manager", "producer", "owner"}
OWNER = {"owner"}
PLANS = {"producer", "owner"}
DESK = {"editor", "producer", "owner"}
NAMED_IT = {"editor", "owner"}  # the editor named the search
SHE_HERSELF = {"logger", "producer", "owner"}  # the stint is the logger's

CUT = "001  61112A01 V     C        10:00:00:00 10:00:01:00 01:00:00:00 01:00:01:00\n"

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
    "machines/": {"GET": (CARDS, 200)},
    "machines/retry/": {"POST": (CARDS, 302)},
    "machines/jobs/*/retry/": {"POST": (CARDS, 302)},
    "clips/next/": {"GET": (ANYBODY, 302)},
    "clips/*/": {"GET": (ANYBODY, 200)},
    "media/*/proxy.mp4": {"GET": (ANYBODY, 404)},  # it is not made in this test
    "clips/*/stills/*.jpg": {"GET": (ANYBODY, 404)},  # there is no filmstrip
    "selects/": {"GET": (ANYBODY, 200)},
    "selects/searches/": {"POST": (ANYBODY, 302)},
    "selects/searches/*/forget/": {"POST": (NAMED_IT, 302)},
    "lists/": {"GET": (ANYBODY, 200), "POST": (MARKS, 302)},
    "lists/*/": {"GET": (ANYBODY, 200)},
    "lists/*/delete/": {"POST": (MARKS, 400)},  # it was exported
    "lists/*/print/": {"GET": (ANYBODY, 200)},
    "lists/*/stringouts/": {"GET": (ANYBODY, 200), "POST": (ANYBODY, 400)},  # there is no proxy
    "stringouts/*/video.mp4": {"GET": (ANYBODY, 404)},  # it is not made in this test
    "stringouts/*/retry/": {"POST": (ANYBODY, 302)},
    "stints/": {"GET": (ANYBODY, 200)},
    "stints/take/": {"POST": (MARKS, 400)},  # nothing is free: the cards are held
    "stints/understood/": {"POST": (ANYBODY, 302)},
    "stints/*/take-over/": {"POST": (MARKS, 400)},  # it does not rest
    "stints/*/hand-back/": {"POST": (SHE_HERSELF, 302)},
    "splits/": {"GET": (PLANS, 200), "POST": (PLANS, 400)},  # nothing is free
    "splits/*/": {"GET": (ANYBODY, 200)},
    "splits/*/accept/": {"POST": (PLANS, 302)},
    "splits/*/discard/": {"POST": (PLANS, 302)},
    "splits/*/again/": {"POST": (PLANS, 400)},  # nothing is free
    "cuts/": {"GET": (ANYBODY, 200), "POST": (DESK, 400)},  # there is no file
    "cuts/*/": {"GET": (ANYBODY, 200)},
    "cuts/*/restore/": {"GET": (ANYBODY, 200)},
    "cuts/*/used/": {"GET": (ANYBODY, 200)},
    "cuts/*/made-it/": {"GET": (ANYBODY, 200)},
    "cuts/*/again/": {"POST": (DESK, 302)},
    "cuts/*/choose/": {"POST": (DESK, 302)},
    "cuts/*/forget/": {"POST": (DESK, 302)},
    "keeping/": {"GET": (ANYBODY, 200)},
    "keeping/list/": {"POST": (MARKS, 302)},
    "tags/": {"GET": (ANYBODY, 200), "POST": (DESK, 302)},
    "tags/merge/": {"POST": (DESK, 400)},  # nothing is ticked
    "tags/import/": {"POST": (DESK, 302)},
    "tags/*/": {"POST": (DESK, 302)},
    "coverage/": {"GET": (ANYBODY, 200)},
    "coverage/rows.csv": {"GET": (ANYBODY, 200)},
    "coverage/unwatched.csv": {"GET": (ANYBODY, 200)},
    "second-looks/": {"GET": (ANYBODY, 200), "POST": (DESK, 302)},
    "second-looks/*/end/": {"POST": (DESK, 302)},
    "agreement/*/": {"GET": (ANYBODY, 200)},
    "forecast/": {"GET": (ANYBODY, 200), "POST": (PLANS, 302)},
    "help/": {"GET": (ANYBODY, 200)},
    "tokens/": {"GET": (ANYBODY, 200), "POST": (ANYBODY, 400)},  # everybody's are their own; it has no name
    "tokens/*/revoke/": {"POST": (ANYBODY, 404)},  # this test's people have none with that number
    "people/": {"GET": (OWNER, 200), "POST": (OWNER, 200)},  # the new password is on the answer
    "people/*/remove/": {"POST": (OWNER, 302)},
    "people/*/password/": {"POST": (OWNER, 200)},
    "people/*/stop/": {"POST": (OWNER, 302)},
    "people/*/bring-back/": {"POST": (OWNER, 302)},
    "days/": {"GET": (ANYBODY, 200)},
    "days/*/report/": {"GET": (ANYBODY, 200)},
    "activity/": {"GET": (ANYBODY, 200)},
}
OPEN_PAGES = {"sign-in/", "sign-out/", "healthz", "readyz", "metrics"}

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
    "searches/": {"GET": (ANYBODY, 200), "POST": (ANYBODY, 201)},
    "searches/*/": {"GET": (ANYBODY, 200), "DELETE": (NAMED_IT, 204)},
    "habits/": {"GET": (ANYBODY, 200), "POST": (ANYBODY, 200)},
    "selects/*/keeping/": {"PUT": (MARKS, 200), "DELETE": (MARKS, 204)},
    "keeping/": {"GET": (ANYBODY, 200)},
    "keeping/*/": {"GET": (ANYBODY, 200)},
    "cuts/": {"GET": (ANYBODY, 200), "POST": (DESK, 201)},
    "cuts/*/": {"GET": (ANYBODY, 200), "DELETE": (DESK, 204)},
    "cuts/*/again/": {"POST": (DESK, 200)},
    "cuts/*/choose/": {"POST": (DESK, 200)},
    "cuts/*/events/": {"GET": (ANYBODY, 200)},
    "cuts/*/restore/": {"GET": (ANYBODY, 200)},
    "cuts/*/usage/": {"GET": (ANYBODY, 200)},
    "cuts/*/selects/": {"GET": (ANYBODY, 200)},
    "tags/": {"GET": (ANYBODY, 200), "POST": (DESK, 201)},
    "tags/*/": {"GET": (ANYBODY, 200), "PUT": (DESK, 200), "DELETE": (DESK, 400)},  # a select has it
    "tags/*/merge/": {"POST": (DESK, 400)},  # with itself
    "stints/": {"GET": (ANYBODY, 200), "POST": (MARKS, 201)},
    "stints/*/": {"GET": (ANYBODY, 200), "DELETE": (SHE_HERSELF, 200)},
    "stints/stretch/": {"POST": (MARKS, 400)},  # nothing is free: the cards are held
    "splits/": {"GET": (ANYBODY, 200), "POST": (PLANS, 400)},  # nothing is free
    "splits/*/": {"GET": (ANYBODY, 200), "PUT": (PLANS, 200)},
    "splits/*/accept/": {"POST": (PLANS, 200)},
    "splits/*/discard/": {"POST": (PLANS, 200)},
    "lists/": {"GET": (ANYBODY, 200), "POST": (MARKS, 201)},
    "lists/*/": {"GET": (ANYBODY, 200), "PUT": (MARKS, 200)},
    "lists/*/add/": {"POST": (MARKS, 200)},
    "lists/*/edit/": {"POST": (MARKS, 200)},
    "lists/*/export/": {"GET": (ANYBODY, 200)},
    "lists/*/preflight/": {"GET": (ANYBODY, 200)},
    "lists/*/exports/": {"GET": (ANYBODY, 200), "POST": (ANYBODY, 201)},
    "lists/*/exports/1/": {"GET": (ANYBODY, 200)},
    "news/": {"GET": (ANYBODY, 200)},
    "days/*/": {"GET": (ANYBODY, 200)},
    "coverage/": {"GET": (ANYBODY, 200)},
    "coverage/unwatched/": {"GET": (ANYBODY, 200)},
    "coverage/export/": {"GET": (ANYBODY, 200)},
    "second-looks/": {"GET": (ANYBODY, 200), "POST": (DESK, 201)},
    "second-looks/*/": {"GET": (ANYBODY, 200), "DELETE": (DESK, 200)},
    "second-looks/*/agreement/": {"GET": (ANYBODY, 200)},
    "forecast/": {"GET": (ANYBODY, 200)},
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
    text = text.replace("<str:name>", "proxy.mp4").replace(r"(?P<number>[^/.\0]+)", "1")
    text = text.replace("<str:day>", "*")
    for key in ("pk", "code", "day"):
        text = text.replace(rf"(?P<{key}>[^/.\0]+)", "*")
    return text.strip("^$")


def page_addresses() -> list[str]:
    """Every address outside of the JSON surface, `*` for each number in it."""
    return [path for path in addresses() if not path.startswith("api/")]


def filled(path: str, numbers: dict) -> str:
    """An address with the id of something that is there. Raises KeyError for a kind that `numbers` has none of."""
    if "*" not in path:
        return f"/{path}"
    return f"/{path.replace('*', str(numbers[path.partition('/*')[0]]), 1).replace('*', '0')}"


def one_of_everything(cast, make_clip):
    """One of everything in KB04, and the address and body for every row of the tables."""
    clip = make_clip()
    select = selecting.put(cast.logger, uuid.uuid4(), clip, selecting.Mark(0, 10, ("gull",)), 0)
    spare = make_clip("SPARE")
    stint = stints.take(cast.logger, spare)
    split = Split.objects.create(production=cast.kb04, made_by=cast.producer, hours={"logger": 8})
    made = lists.make(cast.editor, cast.kb04, "best", [select.id])
    lists.export(made, "csv")
    cut = returned_cuts.take_in(cast.editor, cast.kb04, "cut.edl", CUT.encode())
    keeping.flag(cast.logger, select)
    Card.objects.update(state="held", checked_at=timezone.now())
    medium = Medium.objects.create(production=cast.kb04, volume="named:shuttle", label="shuttle", kind="disk")
    copy = clip.card.copies.create(medium=medium, folder="/nowhere/else")
    rows = b"date,timecode,text\n2026-11-12,10:00:01:00,a gull lands\n"
    taking_notes.take(cast.owner, cast.kb04, rows)
    note = cast.kb04.field_notes.get()
    drive = TapeDrive.objects.create(production=cast.kb04, label="post house", generation=8)
    job = jobs.ask(Job.Kind.PICTURES, card=clip.card, clip=clip, why="a test")
    Job.objects.update(state="failed")
    search = searches.name(cast.editor, cast.kb04, "the gull", "text=gull")
    stringout = made.stringouts.create(made_by=cast.editor, events=[], list_version=1)
    member = Membership.objects.get(person=cast.media_manager)
    look = second_looks.ask(cast.editor, clip, 0, 10)
    numbers = {
        "productions": "KB04",
        "cards": clip.card_id,
        "clips": clip.id,
        "media": clip.id,
        "selects": select.id,
        "tags": cast.kb04.tags.get().id,
        "cuts": cut.id,
        "keeping": select.id,
        "stints": stint.id,
        "splits": split.id,
        "lists": made.id,
        "jobs": job.id,
        "machines/jobs": job.id,
        "stringouts": stringout.id,
        "searches": search.id,
        "selects/searches": search.id,
        "tokens": 9_999_999,
        "people": member.id,
        "days": "2026-11-12",
        "copies": copy.id,
        "shelf/media": medium.id,
        "shelf/drives": drive.id,
        "notes": note.id,
        "second-looks": look.id,
        "agreement": clip.id,
    }
    bodies = {
        "cards/*/accept/": {"reason": "because it is fine"},
        "cards/": {"production": "KB04", "folder": "/nowhere"},
        "clips/*/pulse/": {"viewing": str(uuid.uuid4()), "frame": 0},
        "clips/*/leave/": {"viewing": str(uuid.uuid4()), "frame": 0, "remark": "go on here"},
        "clips/*/watched/": {"viewing": str(uuid.uuid4()), "batch": 0, "spans": []},
        "selects/*/": {"clip": clip.id, "in_frame": 1, "out_frame": 9, "version": 1},
        "cuts/": {"production": "KB04", "text": CUT + "* ANOTHER"},
        "cuts/*/choose/": {"line": 1, "clip": clip.id, "choice": f"1/{clip.id}"},
        "keeping/list/": {"name": "kept"},
        "tags/": {"production": "KB04", "name": "net", "group": ""},
        "tags/import/": {"text": "what: net, rope"},
        "tags/*/": {"name": "gulls", "group": "what", "key": ""},
        "tags/*/merge/": {"tags": [cast.kb04.tags.get().id]},
        "stints/": {"clip": clip.id},
        "stints/take/": {"minutes": "15"},
        "stints/stretch/": {"production": "KB04", "minutes": 15},
        "splits/": {"production": "KB04", "hours": {"logger": 8}, "hours:logger": "8"},
        "splits/*/": {"version": 1, "moves": {}},
        "splits/*/accept/": {"version": 1},
        "lists/": {"name": "another", "production": "KB04", "selects": []},
        "lists/*/": {"name": "renamed", "version": 1},
        "lists/*/add/": {"selects": [str(select.id)]},
        "lists/*/edit/": {"do": "sort", "by": "rating", "version": 1},
        "lists/*/exports/": {"as": "csv"},
        "people/": {"name": "maya", "role": "logger"},
        "cards/*/clock/": {"clip": clip.id, "frame": 0, "other": clip.id, "other_frame": 1},
        "habits/": {"catch_seconds": 12},
        "cards/*/copies/": {"folder": "/nowhere"},
        "shelf/media/*/": {"label": "shuttle", "kind": "disk"},
        "shelf/drives/": {"label": "ours", "generation": "9"},
        "notes/": {"previewed": quote(base64.b64encode(rows))},
        "searches/": {"production": "KB04", "name": "gulls at last", "query": "text=gull"},
        "selects/searches/": {"name": "gulls", "query": quote("text=gull")},
        "rules/": {"copies": "2", "devices": "1", "elsewhere": "0"},
        "second-looks/": {"clip": clip.id, "in_frame": 20, "out_frame": 30, "stretch": f"{clip.id}-20-30"},
        "forecast/": {"shoot_until": "2026-12-01", "shot_a_day": "90"},
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
    queries = {"lists/*/export/": "?as=csv", "lists/*/preflight/": "?as=edl", "coverage/": "?production=KB04"}
    queries |= dict.fromkeys(("coverage/unwatched/", "coverage/export/", "forecast/"), "?production=KB04")
    queries |= dict.fromkeys(("news/", "days/*/"), "?production=KB04")
    clip = site("clips/*/")[0].split("/")[1]
    queries["cards/*/clock-by-sound/"] = f"?clip={clip}&other={clip}"
    query = queries.get(path, "")
    if method == "DELETE":
        body = {}
    told = api_of(person).generic(
        method, f"/api/v1/{address}{query}", json.dumps(body or {}), content_type="application/json"
    )
    AccessToken.objects.filter(person=person).delete()  # a person has so many at once
    return told
