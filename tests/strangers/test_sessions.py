"""Who is let in, and from when on not any more."""

import re
from datetime import timedelta

import pytest
from django.contrib.auth import SESSION_KEY
from django.contrib.sessions.models import Session
from django.test import Client
from django.utils import timezone

from review.crew import people, tokens
from tests.conftest import PASSWORD, api_of, browser_of


def lets_in(browser, address: str = "/cards/") -> bool:
    told = browser.get(address)
    assert told.status_code == 200 or told["Location"].startswith("/sign-in/?next=")
    return told.status_code == 200


def signed_in(name: str) -> Client:
    browser = Client()
    assert browser.post("/sign-in/", {"username": name, "password": PASSWORD}).status_code == 302
    return browser


def test_it_works(cast):
    assert lets_in(signed_in("logger"))
    assert not lets_in(Client())


def test_a_session_that_is_too_old_leads_to_sign_in_and_back_to_the_page(cast, a_clip):
    browser = signed_in("logger")
    Session.objects.update(expire_date=timezone.now() - timedelta(seconds=1))
    address = f"/clips/{a_clip.id}/?frame=12"
    told = browser.get(address)
    assert (told.status_code, told["Location"]) == (302, f"/sign-in/?next=/clips/{a_clip.id}/%3Fframe%3D12")
    assert browser.get("/api/v1/clips/").status_code == 401
    back = browser.post(told["Location"], {"username": "logger", "password": PASSWORD})
    assert (back.status_code, back["Location"]) == (302, address)
    assert lets_in(browser, address)


def test_media_of_a_session_that_ended_is_not_sent(cast, a_clip):
    browser = signed_in("logger")
    browser.post("/sign-out/")
    for path in (f"/media/{a_clip.id}/proxy.mp4", f"/clips/{a_clip.id}/stills/1.jpg"):
        assert browser.get(path)["Location"].startswith("/sign-in/")


def test_a_cookie_made_up_or_of_before_signing_in_opens_nothing(cast):
    for made_up in ("x" * 32, "", "\0", "1", "../../x", "é" * 200, "x" * 7000):
        browser = Client()
        browser.cookies["sessionid"] = made_up
        assert not lets_in(browser)
    browser = Client()
    browser.cookies["sessionid"] = planted = "a" * 32
    browser.post("/sign-in/", {"username": "logger", "password": PASSWORD})
    assert browser.cookies["sessionid"].value != planted
    other = Client()
    other.cookies["sessionid"] = planted
    assert not lets_in(other)


def test_a_new_password_ends_the_sessions_elsewhere_and_keeps_this_one(cast):
    here, elsewhere = signed_in("logger"), signed_in("logger")
    given = {"old_password": PASSWORD, "new_password1": "another-good-one", "new_password2": "another-good-one"}
    assert here.post("/password/", given).status_code == 302
    assert lets_in(here) and not lets_in(elsewhere)
    assert elsewhere.get("/api/v1/clips/").status_code == 401


def test_a_new_password_revokes_the_tokens_and_says_so_before_and_after(cast):
    """Whoever changes it may do so because somebody else knew it, and made a token."""
    script, other = api_of(cast.logger), api_of(cast.editor)
    here = signed_in("logger")
    assert "Your 1 token for scripts will be revoked" in here.get("/password/").content.decode()
    given = {"old_password": PASSWORD, "new_password1": "another-good-one", "new_password2": "another-good-one"}
    assert "1 token was revoked with it" in here.post("/password/", given, follow=True).content.decode()
    assert script.get("/api/v1/clips/").status_code == 401
    assert other.get("/api/v1/clips/").status_code == 200


def test_a_password_from_the_owner_ends_every_session(cast):
    intruder = signed_in("logger")
    script = api_of(cast.logger)
    people.renew_password_by(cast.owner, cast.logger)
    assert not lets_in(intruder)
    assert script.get("/api/v1/clips/").status_code == 401


def test_who_is_stopped_is_out_at_once(cast, a_clip):
    browser, script = signed_in("logger"), api_of(cast.logger)
    assert lets_in(browser) and script.get("/api/v1/clips/").status_code == 200
    people.stop_by(cast.owner, cast.logger)
    assert not lets_in(browser)
    assert browser.get(f"/media/{a_clip.id}/proxy.mp4")["Location"].startswith("/sign-in/")
    assert browser.get("/api/v1/clips/").status_code == script.get("/api/v1/clips/").status_code == 401
    assert Client().post("/sign-in/", {"username": "logger", "password": PASSWORD}).status_code == 200


def test_who_is_removed_sees_nothing_more_of_it_at_once(cast, a_clip):
    browser, script = signed_in("logger"), api_of(cast.logger)
    assert lets_in(browser, f"/clips/{a_clip.id}/")
    people.remove_member_by(cast.owner, cast.logger.memberships.get())
    assert browser.get(f"/clips/{a_clip.id}/").status_code == 404
    assert script.get(f"/api/v1/clips/{a_clip.id}/").status_code == 404


def test_signing_out_ends_it_on_the_server_too(cast):
    browser = signed_in("logger")
    stolen = Client()
    stolen.cookies["sessionid"] = browser.cookies["sessionid"].value
    assert lets_in(stolen)
    browser.post("/sign-out/")
    assert not lets_in(stolen)
    assert not Session.objects.exists()
    assert Client().get("/sign-out/").status_code == 405  # no link or picture signs anybody out


@pytest.mark.parametrize("next_page", ["https://elsewhere.example/", "//elsewhere.example", "/\\elsewhere.example",
                                       "javascript:alert(1)", "https:/elsewhere.example", "\thttps://e.x"])  # fmt: skip
def test_signing_in_leads_to_our_own_pages_alone(cast, next_page):
    told = Client().post("/sign-in/", {"username": "editor", "password": PASSWORD, "next": next_page})
    assert (told.status_code, told["Location"]) == (302, "/")


def test_a_session_changes_nothing_over_json_without_the_pages_own_token(cast):
    browser = Client(enforce_csrf_checks=True)
    browser.force_login(cast.editor)
    body = {"name": "best", "production": "KB04"}
    told = browser.post("/api/v1/lists/", body, content_type="application/json")
    assert (told.status_code, cast.kb04.lists.count()) == (403, 0)
    page = browser.get("/lists/").content.decode()
    token = re.search(r'name="csrfmiddlewaretoken" value="(\w+)"', page)[1]
    told = browser.post("/api/v1/lists/", body, content_type="application/json", headers={"X-CSRFToken": token})
    assert told.status_code == 201


def test_a_token_opens_the_json_surface_and_no_page(cast, a_clip):
    _, key = tokens.issue(cast.owner, "a script", tokens.Scope.WRITE)
    for header in (f"Token {key}", f"Bearer {key}"):
        for path in ("/cards/", f"/media/{a_clip.id}/proxy.mp4", "/tokens/", "/people/"):
            assert Client(headers={"Authorization": header}).get(path)["Location"].startswith("/sign-in/")
    assert Client().get(f"/api/v1/clips/?token={key}").status_code == 401  # addresses are written down


def test_neither_session_nor_password_is_kept_as_it_is_sent(cast):
    browser = signed_in("logger")
    assert SESSION_KEY in Session.objects.get(session_key=browser.cookies["sessionid"].value).get_decoded()
    cast.logger.refresh_from_db()
    assert PASSWORD not in cast.logger.password


def test_a_page_that_another_site_sends_is_refused(cast):
    browser = Client(enforce_csrf_checks=True)
    browser.force_login(cast.owner)
    for origin in ("https://elsewhere.example", "null"):
        told = browser.post("/cards/scan/?production=KB04", headers={"Origin": origin})
        assert told.status_code == 403
    assert browser_of(cast.owner).post("/cards/scan/?production=KB04").status_code == 302
