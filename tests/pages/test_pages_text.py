"""What people write is shown and exported as text, whatever it is: never as markup, a formula or a line too many."""

import csv
import io
import json
import re
import uuid
from html.parser import HTMLParser

import pytest
from django.db import connection

from review.crew import people
from review.custody import intake
from review.desk import lists
from review.marking import selecting
from review.models import Card, Clip, Job
from review.work import jobs
from tests.conftest import api_of, browser_of, check, film, see
from tests.pages.test_pages import PAGES

ATTACK = """"><script>alert(1)</script><img src=x onerror=alert(2)>'{{ 7|add:7 }}</script>"""


class Reader(HTMLParser):
    """What a browser would make of a page: its elements, and the scripts and handlers that would run."""

    def __init__(self, text: str):
        super().__init__()
        self.elements, self.running, self.text = [], [], []
        self._in = ""
        self.feed(text)

    def handle_starttag(self, tag, attributes):
        given = dict(attributes)
        self.elements.append((tag, given))
        self._in = tag
        if tag == "script" and not given.get("src") and given.get("type") != "application/json":
            self.running.append("inline script")
        self.running += [name for name in given if name.startswith("on")]
        self.running += [value for value in given.values() if value and value.strip().lower().startswith("javascript:")]

    def handle_data(self, data):
        if self._in not in ("script", "style"):
            self.text.append(data)

    def handle_endtag(self, tag):
        self._in = ""


def test_nothing_that_people_write_runs(cast, root):
    """Notes, tags, names of lists, people, productions, files and folders, reasons and findings."""
    people.make_production("KB04", f"Bay {ATTACK}", cast.kb04.timebase)
    cast.logger.first_name = ATTACK
    cast.logger.save()
    folder = root / ATTACK.replace("/", "∕")
    film(folder / (ATTACK.replace("/", "∕") + ".MOV"))
    (folder / "<b>empty<b>.MOV").touch()
    card = check(folder, cast.kb04)
    intake.accept(card, cast.media_manager, ATTACK)
    clip = card.clips.get()
    Clip.objects.update(proxy_state="failed", proxy_problem=ATTACK, frame_doubt=ATTACK, timecode_source="")
    job = jobs.ask(Job.Kind.PICTURES, card=card, clip=clip, why=ATTACK)
    Job.objects.filter(id=job.id).update(state="failed", error=ATTACK)
    mark = selecting.Mark(0, 10, (ATTACK[:60],), ATTACK)
    select = selecting.put(cast.logger, uuid.uuid4(), clip, mark, 0)
    made = lists.make(cast.editor, cast.kb04, ATTACK, [select.id])
    (root / ("x" + ATTACK.replace("/", "∕"))).mkdir()
    query = f"?text={ATTACK.replace('#', '')}&tag=<b>&logger=<i>"
    addresses = [*PAGES, f"/cards/{card.id}/", f"/clips/{clip.id}/", f"/lists/{made.id}/", "/selects/", "/"]
    addresses += ["/selects/" + query, "/selects/?rating=<script>", "/<script>/", "/cards/?production=<b>"]
    for address in addresses:
        answer = browser_of(cast.owner).get(address, follow=True)
        page = Reader(answer.content.decode())
        assert page.running == [], address
        assert not [tag for tag, given in page.elements if tag == "img" and given.get("src") == "x"], address
        policy = answer["Content-Security-Policy"]
        assert "default-src 'self'" in policy and "unsafe" not in policy
    assert "alert(1)" in "".join(Reader(see(cast.owner, f"/lists/{made.id}/")).text)  # it is shown, as text


@pytest.mark.parametrize(
    "note",
    ["one\ntwo\r\nthree", "\x1b[31mred\x07", "=cmd()", 'a "quoted", cell;\ttab', "Möwe 鳥 \u2028 🐦", "x" * 10_000],
)
def test_notes_of_any_kind_leave_the_exports_whole(cast, full, note):
    clip, select, made = full
    selecting.put(cast.logger, select.id, clip, selecting.Mark(5, 20, ("a,b", '"'), note), 1)
    browser = browser_of(cast.editor)
    page = see(cast.editor, f"/lists/{made.id}/")
    links = re.findall(rf'href="(/api/v1/lists/{made.id}/export/\?as=\w+)"', page)
    edl, table, timeline = (browser.get(link).content.decode("utf-8-sig") for link in links)
    lines = edl.split("\r\n")
    assert edl.isascii() and all(line.isprintable() for line in lines)
    assert all(re.match(r"TITLE:|FCM:|\d{3}  |AUD|\*|$", line) for line in lines)
    assert sum(bool(re.match(r"\d{3}  ", line)) for line in lines) == 1
    rows = list(csv.reader(io.StringIO(table, newline="")))
    assert [len(row) for row in rows] == [len(rows[0])] * 2
    assert not rows[1][rows[0].index("note")].startswith("=")
    assert json.loads(timeline)["OTIO_SCHEMA"].startswith("Timeline")


def test_a_nul_reaches_no_database(cast, full):
    """Not every database takes one as text."""

    def look(execute, sql, params, many, context):
        assert not [each for each in params or () if isinstance(each, str) and "\0" in each], sql
        return execute(sql, params, many, context)

    card = full[0].card
    Card.objects.update(state=Card.State.HELD)
    browser, script = browser_of(cast.owner), api_of(cast.owner)
    with connection.execute_wrapper(look):
        for name in ("production", "text", "tag", "card", "camera", "logger", "date", "rating", "clip", "page"):
            assert browser.get(f"/selects/?{name}=a%00").status_code < 500
            assert script.get(f"/api/v1/selects/?{name}=a%00").status_code < 500
        assert script.get("/api/v1/productions/%00/").status_code == 404
        assert script.get("/api/v1/coverage/?production=%00").status_code == 400
        browser.post(f"/cards/{card.id}/accept/", {"reason": "because\0 it is fine"})
        browser.post("/lists/?production=KB04", {"name": "li\0st"})
        browser.post("/people/?production=KB04", {"name": "ma\0ya", "role": "log\0ger"})
        browser.post("/sign-in/", {"username": "ma\0ya", "password": "\0"})
    assert Card.objects.get().accepted_reason == "because it is fine"
