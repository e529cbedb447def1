"""Who may go where: every address of the site, taken from the site itself, as everybody, against one table.

The roles and what they may do are the house's own.
"""

import json

import pytest
from django.db import transaction

from review import roles
from review.models import Card, Clip, Membership
from tests.addresses import API, OPEN_API, OPEN_PAGES, PAGES, ROLES, addresses, call, one_of_everything, page
from tests.conftest import api_of, browser_of


@pytest.fixture
def site(cast, make_clip):
    return one_of_everything(cast, make_clip)


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
    for path in (
        "cards/",
        "selects/",
        "lists/",
        "coverage/",
        "coverage/rows.csv",
        "coverage/unwatched.csv",
        "second-looks/",
        "forecast/",
        "days/",
        "activity/",
        "people/",
        "clips/next/",
        "shelf/",
        "rules/",
        "notes/",
        "cuts/",
        "tags/",
    ):
        told = page(cast.stranger, site, path, "GET", "?production=KB04")
        assert told.status_code == 404, path
        assert b"you are not a member" in told.content
        assert b"KB04" not in page(cast.stranger, site, path, "GET").content
    for path, methods in API.items():
        for method in methods:
            with transaction.atomic():  # each call has a token of its own, and nobody may have very many
                told = call(cast.stranger, site, path, method)
                transaction.set_rollback(True)
            if path == "habits/":
                continue  # everybody's are their own
            if method == "GET" and "*" not in path and not path.startswith(("coverage/", "news/", "forecast/")):
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
