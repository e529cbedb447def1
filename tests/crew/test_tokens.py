from datetime import timedelta

import pytest
from django.db import connection
from django.utils import timezone
from rest_framework.test import APIClient

from review.crew import tokens
from review.models import AccessToken
from review.refusals import NotFound, Refusal
from tests.conftest import browser_of, see


def script_with(key: str) -> APIClient:
    script = APIClient()
    script.default_format = "json"
    script.credentials(HTTP_AUTHORIZATION=f"Token {key}")
    return script


def test_it_works(cast):
    token, key = tokens.issue(cast.logger, "nightly report", tokens.Scope.WRITE)
    script = script_with(key)
    assert script.get("/api/v1/productions/").json()["results"][0]["code"] == "KB04"
    assert script.post("/api/v1/lists/", {"name": "best", "production": "KB04"}).status_code == 201
    token.refresh_from_db()
    assert timezone.now() - token.used_at < timedelta(minutes=1)
    assert token.expires - timezone.now() == pytest.approx(timedelta(days=90), abs=timedelta(minutes=1))


def test_what_is_kept_does_not_let_anybody_in(cast):
    token, key = tokens.issue(cast.logger, "nightly report")
    with connection.cursor() as cursor:
        cursor.execute("SELECT * FROM review_accesstoken")
        kept = str(cursor.fetchall())
    assert key not in kept and key[:6] in kept
    assert script_with(token.digest).get("/api/v1/clips/").status_code == 401


def test_a_token_that_reads_changes_nothing(cast):
    _, key = tokens.issue(cast.logger, "dashboard", tokens.Scope.READ)
    script = script_with(key)
    assert script.get("/api/v1/lists/").status_code == 200
    told = script.post("/api/v1/lists/", {"name": "best", "production": "KB04"})
    assert (told.status_code, "may only look" in told.json()["detail"]) == (403, True)
    assert not cast.kb04.lists.exists()


def test_one_that_is_too_old_or_revoked_works_no_more(cast):
    token, key = tokens.issue(cast.logger, "old", days=1)
    AccessToken.objects.filter(id=token.id).update(expires=timezone.now())
    told = script_with(key).get("/api/v1/clips/")
    assert (told.status_code, "too old or was revoked" in told.json()["detail"]) == (401, True)
    token, key = tokens.issue(cast.logger, "lost")
    tokens.revoke(cast.logger, token.id)
    assert script_with(key).get("/api/v1/clips/").status_code == 401


@pytest.mark.parametrize(
    "header", ["Token", "Token ", "Token a b", "Token \xff\xfe", "token 'or 1=1", "Token " + "x" * 9000]
)
def test_what_is_no_token_is_refused(cast, header):
    script = APIClient()
    script.credentials(HTTP_AUTHORIZATION=header)
    assert script.get("/api/v1/clips/").status_code == 401


def test_it_opens_the_productions_of_its_person_only(cast, a_clip):
    _, key = tokens.issue(cast.stranger, "theirs", tokens.Scope.WRITE)
    script = script_with(key)
    assert script.get("/api/v1/clips/").json()["results"] == []
    assert script.get(f"/api/v1/clips/{a_clip.id}/").status_code == 404


@pytest.mark.parametrize(
    ("name", "scope", "days", "refusal"),
    [
        ("", "read", 9, "what the token is for"),
        ("x" * 81, "read", 9, "up to 80 characters"),
        ("x", "everything", 9, "is not a scope"),
        ("x", "read", 0, "works for 1 to 366 days"),
        ("x", "read", 9999, "works for 1 to 366 days"),
    ],
)
def test_what_cannot_be_is_refused(cast, name, scope, days, refusal):
    with pytest.raises(Refusal, match=refusal):
        tokens.issue(cast.logger, name, scope, days)


def test_nobody_makes_them_without_end(cast, monkeypatch):
    monkeypatch.setattr(tokens, "MOST", 2)
    for _ in range(2):
        tokens.issue(cast.logger, "one more")
    with pytest.raises(Refusal, match="revoke those that no script uses"):
        tokens.issue(cast.logger, "one more")


def test_the_page_shows_a_new_one_once(cast):
    browser = browser_of(cast.logger)
    answer = browser.post("/tokens/", {"name": "report <b>", "scope": "read", "days": "30"})
    key = answer.content.decode().partition('<code class="key">')[2].partition("<")[0]
    assert answer["Cache-Control"] == "no-store"
    assert script_with(key).get("/api/v1/clips/").status_code == 200
    page = see(cast.logger, "/tokens/")
    assert key not in page and key[:6] in page and "report &lt;b&gt;" in page
    token = cast.logger.tokens.get()
    assert "works no more" in browser.post(f"/tokens/{token.id}/revoke/", follow=True).content.decode()
    assert script_with(key).get("/api/v1/clips/").status_code == 401


def test_somebody_elses_is_not_there(cast):
    token, _ = tokens.issue(cast.logger, "mine")
    with pytest.raises(NotFound):
        tokens.revoke(cast.owner, token.id)
    assert browser_of(cast.owner).post(f"/tokens/{token.id}/revoke/").status_code == 404
    assert "mine" not in see(cast.owner, "/tokens/")
    assert tokens.working(cast.logger).exists()


def test_all_of_somebody_are_ended_at_once(cast):
    for name in ("one", "two"):
        tokens.issue(cast.logger, name)
    assert tokens.revoke_all(cast.logger) == 2 and not tokens.working(cast.logger).exists()
