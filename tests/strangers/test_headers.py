"""What every answer carries, and what the cookies allow; also behind a server that ends TLS."""

import json
import os
import subprocess
import sys

import pytest
from django.conf import settings
from django.test import Client

from review.derived import proxying
from tests.addresses import API, PAGES, call, page
from tests.conftest import PASSWORD, api_of, browser_of


def test_every_answer_carries_them(cast, site):
    """Pages, JSON and refusals alike, whoever asks."""
    answers = []
    for person, every in ((cast.owner, 1), (cast.stranger, 6), (None, 6)):  # refusals are alike
        answers += [page(person, site, path, "GET") for path in [*PAGES][::every] if "GET" in PAGES[path]]
        answers += [call(person, site, path, "GET") for path in [*API][::every] if "GET" in API[path]]
    answers += [Client().get("/no-such-page/"), Client().get("/sign-in/"), Client().post("/cards/scan/")]
    assert len(answers) > 80
    for told in answers:
        where = told.request["PATH_INFO"]
        policy = told["Content-Security-Policy"]
        assert "default-src 'self'" in policy and "unsafe" not in policy and "frame-ancestors 'none'" in policy, where
        assert told["X-Frame-Options"] == "DENY" and told["X-Content-Type-Options"] == "nosniff", where
        assert told["Referrer-Policy"] == told["Cross-Origin-Opener-Policy"] == "same-origin", where
        assert "camera=()" in told["Permissions-Policy"] and "microphone=()" in told["Permissions-Policy"], where
        assert {"private", "no-store"} & set(told["Cache-Control"].split(", ")), (where, told["Cache-Control"])
        assert "Access-Control-Allow-Origin" not in told and "Server" not in told, where


def test_a_proxy_and_a_download_are_kept_by_no_cache_that_others_share(cast, a_clip):
    folder = proxying.media_folder(a_clip.id)
    folder.mkdir(parents=True)
    (folder / "proxy.mp4").write_bytes(b"film")
    browser = browser_of(cast.logger)
    for address in (f"/media/{a_clip.id}/proxy.mp4", "/coverage/rows.csv", "/coverage/unwatched.csv"):
        told = browser.get(address, {"production": "KB04"})
        assert told.status_code == 200 and told["Cache-Control"].startswith("private"), address
        assert told["X-Content-Type-Options"] == "nosniff"
        assert told.getvalue()


def test_cookies_are_for_this_site_alone_and_the_sessions_for_no_script(cast):
    browser = Client()
    browser.get("/sign-in/")
    browser.post("/sign-in/", {"username": "logger", "password": PASSWORD})
    session = browser.cookies["sessionid"]
    assert (session["httponly"], session["samesite"], session["domain"]) == (True, "Lax", "")
    assert browser.cookies["csrftoken"]["samesite"] == "Lax"
    assert 0 < session["max-age"] <= 14 * 86_400


def test_a_script_sets_no_cookie(cast):
    assert not api_of(cast.logger).get("/api/v1/clips/").cookies


_BEHIND_TLS = """
import django, json
django.setup()
from django.conf import settings
from django.contrib.sessions.backends.signed_cookies import SessionStore
from django.test import Client
settings.SESSION_ENGINE = "django.contrib.sessions.backends.signed_cookies"
settings.MESSAGE_STORAGE = "django.contrib.messages.storage.cookie.CookieStorage"
settings.ROOT_URLCONF = __name__
from django.http import HttpResponse
from django.middleware.csrf import get_token
from django.urls import path
def answer(request):
    request.session["seen"] = get_token(request)
    return HttpResponse("x")
urlpatterns = [path("sign-in/", answer), path("healthz", answer)]
plain = Client().get("/sign-in/", headers={"Host": "logging.example"})
alive = Client().get("/healthz", headers={"Host": "localhost"})
told = Client().get("/sign-in/", headers={"Host": "logging.example", "X-Forwarded-Proto": "https"})
other = Client().get("/sign-in/", headers={"Host": "evil.example", "X-Forwarded-Proto": "https"})
print(json.dumps({
    "plain": [plain.status_code, plain.get("Location")], "alive": alive.status_code, "other": other.status_code,
    "headers": dict(told.items()),
    "cookies": {name: [bool(each["secure"]), bool(each["httponly"])] for name, each in told.cookies.items()},
}))
"""


@pytest.fixture(scope="module")
def behind_tls(tmp_path_factory):
    """What the settings of a deployment answer, started as they are there."""
    given = {"RUSHLIGHT_HOME": str(tmp_path_factory.mktemp("home")), "RUSHLIGHT_TLS": "yes"}
    given |= {"RUSHLIGHT_HOSTS": "logging.example,localhost", "DJANGO_SETTINGS_MODULE": "logging_app.settings"}
    done = subprocess.run(
        [sys.executable, "-c", _BEHIND_TLS],
        env=os.environ | given, cwd=settings.BASE_DIR, capture_output=True, text=True, timeout=180, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def test_behind_tls_cookies_go_over_tls_alone(behind_tls):
    assert behind_tls["cookies"] == {"sessionid": [True, True], "csrftoken": [True, False]}
    assert behind_tls["headers"]["Strict-Transport-Security"] == "max-age=31536000"


def test_behind_tls_what_comes_in_plain_is_sent_on(behind_tls):
    assert behind_tls["plain"] == [301, "https://logging.example/sign-in/"]
    assert behind_tls["alive"] == 200  # asked from inside


def test_a_host_that_is_not_ours_is_refused(behind_tls):
    assert behind_tls["other"] == 400
