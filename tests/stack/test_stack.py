"""The main job through the many-machine form: PostgreSQL, Redis, nginx, workers apart and the web server, as docker/
describes them (tests/stack/topology.py)."""

import http.cookiejar
import json
import re
import time
import urllib.error
import urllib.parse
import urllib.request
import uuid

import psycopg
import pytest

from tests.conftest import film
from tests.faults.clients import Marker, Script
from tests.stack.topology import Topology

CARD = "KB04-261112-A01"
# The commands of a first evening; in one process, because each takes its time to begin.
OWNER = """
from django.core.management import call_command
call_command("production", "KB04", "Kestrel Bay")
call_command("member", "maren", production="KB04", role="owner")
"""


class Visitor:
    """A browser as far as the server can tell: cookies, forms with their token, and the JSON that pages send."""

    def __init__(self, address: str):
        self.address = address
        self.cookies = http.cookiejar.CookieJar()
        self._opener = urllib.request.build_opener(urllib.request.HTTPCookieProcessor(self.cookies))

    def ask(self, path: str, *, method: str = "GET", form=None, body=None, **headers: str):
        """(status, headers, bytes) of an answer, redirections followed."""
        data = None
        if form is not None:
            data, method = urllib.parse.urlencode(form).encode(), "POST"
        if body is not None:
            data, headers["Content-Type"] = json.dumps(body).encode(), "application/json"
        if token := next((cookie.value for cookie in self.cookies if cookie.name == "csrftoken"), ""):
            headers["X-CSRFToken"] = token
        request = urllib.request.Request(self.address + path, data, headers, method=method)
        try:
            with self._opener.open(request, timeout=30) as answer:
                return answer.status, answer.headers, answer.read()
        except urllib.error.HTTPError as refused:
            with refused:
                return refused.code, refused.headers, refused.read()

    def json(self, path: str, **how):
        status, _, content = self.ask(path, **how)
        assert status < 300, (path, status, content[:500])
        return json.loads(content)

    def sign_in(self, name: str, password: str) -> None:
        page = self.ask("/sign-in/")[2].decode()
        token = re.search(r'name="csrfmiddlewaretoken" value="([^"]+)"', page)[1]
        form = {"username": name, "password": password, "csrfmiddlewaretoken": token, "next": ""}
        status, _, page = self.ask("/sign-in/", form=form)
        assert status == 200 and b"Sign out" in page


@pytest.fixture(scope="module")
def stack():
    with Topology() as stack:
        yield stack


@pytest.fixture(scope="module")
def owner(stack) -> Visitor:
    """The owner, signed in through nginx."""
    password = stack.manage("shell", "-c", OWNER).strip().splitlines()[-1]
    visitor = Visitor(stack.address)
    visitor.sign_in("maren", password)
    visitor.password = password
    return visitor


@pytest.fixture(scope="module")
def clip(stack, owner) -> int:
    """The clip of a card whose folder just appeared: found, checked and made watchable by the workers alone."""
    film(stack.cards / CARD / "CLIP" / "A001C001.MOV")
    comes_true(stack, "SELECT count(*) FROM review_job WHERE kind = 'pictures' AND state = 'done'")
    (found,) = owner.json("/api/v1/clips/")["results"]
    return found["id"]


def rows(stack, query: str):
    with psycopg.connect(stack.database.url) as link:
        return link.execute(query).fetchall()


def comes_true(stack, query: str, seconds: float = 60) -> None:
    deadline = time.monotonic() + seconds
    while not rows(stack, query)[0][0]:
        told = [stack.log(part)[-800:] for part in ("upkeep", "checks", "encodes", "quick")]
        assert time.monotonic() < deadline, (query, told)
        time.sleep(0.2)


def test_a_card_that_appears_is_watched_marked_and_handed_over(stack, owner, clip):
    assert rows(stack, "SELECT state FROM review_card") == [("verified",)]

    # watched and marked, as the page sends it
    viewing = str(uuid.uuid4())
    owner.json(f"/api/v1/clips/{clip}/watched/", method="POST", body={"viewing": viewing, "batch": 0, "spans": []})
    span = {"in_frame": 0, "out_frame": 25, "speed": 1.0, "muted": False}
    time.sleep(1.2)  # the second that 25 frames take
    seen = {"viewing": viewing, "batch": 1, "spans": [span]}
    owner.json(f"/api/v1/clips/{clip}/watched/", method="POST", body=seen)
    assert rows(stack, "SELECT watched_frames FROM review_clip") == [(25,)]
    select = str(uuid.uuid4())
    mark = {"clip": clip, "in_frame": 5, "out_frame": 20, "tags": ["gull"], "note": "it lands", "version": 0}
    owner.json(f"/api/v1/selects/{select}/", method="PUT", body=mark)

    # handed over
    body = {"name": "best", "production": "KB04", "selects": [select]}
    made = owner.json("/api/v1/lists/", method="POST", body=body)
    status, _, edl = owner.ask(f"/api/v1/lists/{made['id']}/export/?as=edl")
    assert status == 200 and b"61112A01" in edl and b"10:00:00:05 10:00:00:20" in edl


def test_proxies_are_sent_by_nginx_once_django_has_said_yes(stack, owner, clip):
    path = f"/media/{clip}/proxy.mp4"
    status, told, piece = owner.ask(path, Range="bytes=4-7")
    assert (status, piece) == (206, b"ftyp")
    size = (stack.home / "media" / "clips" / str(clip) / "proxy.mp4").stat().st_size
    assert told["Content-Range"] == f"bytes 4-7/{size}"
    assert "nginx" in told["Server"] and "X-Accel-Redirect" not in told and told["Content-Type"] == "video/mp4"
    # the web server itself sends nothing of it, and says where it is to nginx alone
    status, told, piece = owner_at_web(stack, owner).ask(path, Range="bytes=4-7")
    assert (status, piece, told["X-Accel-Redirect"]) == (200, b"", f"/sent/clips/{clip}/proxy.mp4")

    stranger = Visitor(stack.address)
    _, _, page = stranger.ask(path)
    assert b"Sign in" in page and b"ftyp" not in page
    for behind in (f"/sent/clips/{clip}/proxy.mp4", "/sent/", f"/media/../sent/clips/{clip}/proxy.mp4"):
        assert owner.ask(behind)[0] == 404, behind


def asked_of_django(stack, path: str) -> int:
    return sum(path in line for line in stack.log("web").splitlines())


def test_a_yes_to_a_film_holds_for_ten_seconds_for_who_got_it_alone(stack, owner, clip):
    path = f"/media/{clip}/proxy.mp4"
    visitor = Visitor(stack.address)
    visitor.sign_in("maren", owner.password)
    before, began = asked_of_django(stack, path), time.monotonic()
    for first in range(50):
        status, told, piece = visitor.ask(path, Range=f"bytes={first}-{first + 9}")
        assert (status, len(piece)) == (206, 10)
    assert time.monotonic() - began < 9 and asked_of_django(stack, path) - before == 1
    direct = owner_at_web(stack, owner).ask(path)[1]
    for name in ("Cache-Control", "Content-Security-Policy", "X-Content-Type-Options"):
        assert told[name] == direct[name], name
    assert visitor.ask("/media/99999/proxy.mp4")[0] == 404
    assert visitor.ask(path, method="POST")[0] in (403, 405)

    # Nobody else's cookies have it, and with the session ended it is soon over.
    assert b"Sign in" in Visitor(stack.address).ask(path)[2]
    (session,) = (cookie.value for cookie in visitor.cookies if cookie.name == "sessionid")
    code = "from django.contrib.sessions.models import Session; Session.objects.get(pk='{}').delete()"
    stack.manage("shell", "-c", code.format(session))
    deadline = time.monotonic() + 11
    while b"Sign in" not in visitor.ask(path, Range="bytes=0-9")[2]:
        assert time.monotonic() < deadline, "a yes outlives its time"
        time.sleep(0.5)


def test_scripts_go_compressed_and_pages_do_not(stack, owner):
    script = re.search(r'src="(/static/[^"]+\.js)"', owner.ask("/cards/?production=KB04")[2].decode())[1]
    assert owner.ask(script, **{"Accept-Encoding": "gzip"})[1]["Content-Encoding"] == "gzip"
    assert owner.ask(script)[1]["Content-Encoding"] is None
    assert owner.ask("/cards/?production=KB04", **{"Accept-Encoding": "gzip"})[1]["Content-Encoding"] is None


def owner_at_web(stack, owner) -> Visitor:
    visitor = Visitor(f"http://127.0.0.1:{stack.ports['web']}")
    for cookie in owner.cookies:
        visitor.cookies.set_cookie(cookie)
    return visitor


TOKEN = """
from review.crew import tokens
from review.models import Person
print(tokens.issue(Person.objects.get(), "a test", tokens.Scope.WRITE)[1])
"""


def test_a_card_is_checked_while_four_people_mark_on_it_and_nobody_is_in_anothers_way(stack, clip):
    """Only a database that locks row by row can have a check and a mark wait for each other."""
    script = Script(stack.address, stack.manage("shell", "-c", TOKEN).strip().splitlines()[-1])
    ((card,),) = rows(stack, "SELECT id FROM review_card")
    markers = [Marker(script, clip) for _ in range(4)]
    for marker in markers:
        marker.start()
    try:
        for number in range(2, 6):
            assert script.ask(f"/api/v1/cards/{card}/check/", "POST")[0] < 300
            ended = "FROM review_job WHERE kind = 'check' AND state IN ('done', 'failed')"
            comes_true(stack, f"SELECT count(*) = {number} {ended}")
    finally:
        for marker in markers:
            marker.stop()
        for marker in markers:
            marker.join(60)
    assert rows(stack, "SELECT state, attempts FROM review_job WHERE kind = 'check'") == [("done", 1)] * 5
    assert [marker.troubles for marker in markers] == [[]] * 4
    assert [marker.refused for marker in markers] == [[]] * 4
    said = [mark for marker in markers for mark in marker.promised.items()]
    kept = dict(rows(stack, "SELECT id::text, version FROM review_select"))
    assert len(said) > 8 and all(kept[name] == version for name, (*_, version) in said)


WAITING = """
from review.work import jobs
from review.models import Clip, Job
there = Clip.objects.select_related("card").get()
alike = {field.attname: getattr(there, field.attname) for field in Clip._meta.concrete_fields if field.name != "id"}
waiting = [Clip(**alike | {"name": f"WAITS{number}"}) for number in range(1000)]
for clip in Clip.objects.bulk_create(waiting):
    jobs.ask(Job.Kind.PROXY, card=there.card, clip=clip, why="a test")
jobs.ask(Job.Kind.PICTURES, card=there.card, clip=there, why="a test")
"""


def test_a_thousand_waiting_proxies_do_not_delay_a_filmstrip(stack, clip):
    stack.freeze("encodes")  # as busy as can be
    try:
        stack.manage("shell", "-c", WAITING)
        comes_true(stack, "SELECT count(*) >= 2 FROM review_job WHERE kind = 'pictures' AND state = 'done'", 20)
        assert rows(stack, "SELECT count(*) FROM review_job WHERE kind = 'proxy' AND state = 'waiting'") == [(1000,)]
    finally:
        stack.thaw("encodes")


def test_it_says_how_it_is(stack, owner):
    assert stack.status("/healthz") == 200
    told = json.loads(Visitor(stack.address).ask("/readyz")[2])
    assert told["ready"] is True, told
    assert Visitor(stack.address).ask("/metrics")[0] == 403
    figures = Visitor(stack.address).ask("/metrics", Authorization=f"Bearer {stack.metrics_token}")[2].decode()
    assert 'rushlight_worker_heard_seconds{worker="quick@here"}' in figures
    _, told, page = owner.ask("/machines/?production=KB04", **{"X-Request-ID": "from-outside"})
    assert b"encodes@here" in page
    # nginx gives each request an id of its own, which the log line carries
    assert told["X-Request-ID"] != "from-outside"
    (line,) = [line for line in stack.log("web").splitlines() if f"request={told['X-Request-ID']} " in line]
    assert "method=GET path=/machines/ status=200" in line
    # a job's lines carry its number
    assert re.search(r'job=\d+ from=review\.work\.jobs said="begun: pictures', stack.log("quick"))
