"""Whatever is sent to a page, in its address or by its form, it answers in words: never with a fault of its own.

In the usual run each page gets some of it; with RUSHLIGHT_TEST_REQUESTS above 20, all.
"""

import os
import re
from itertools import count
from urllib.parse import quote_plus, urlencode

import pytest
from django.db import transaction

from review.models import Card, Membership, Production
from tests.addresses import PAGES
from tests.conftest import browser_of

THOROUGH = int(os.environ.get("RUSHLIGHT_TEST_REQUESTS", "4")) > 20
ODD = ["", "\0", "\udc80", "abc", "-1", "1e400", "9" * 5000, str(10**40), "²", "٣", "😀" * 300, "2026-13-45", "..",
       "0000-00-00", "%", "1-2-3", "99999999999999999-1-2", "a " * 900, "[" * 900, "NaN", "'", '"', "\\",
       "\r\nX: y"]  # fmt: skip
# What forms and addresses may hold beside what the templates name.
_MORE = ("previewed", "original", "remove", "move", "hours:logger", "hours:nobody", "all", "seconds", "again", "page",
         "before", "after", "as", "part", "frame", "in", "out", "exact", "edit", "rows", "mine", "clips",
         "skim")  # fmt: skip
_turn = count()


def some() -> list[str]:
    """All that is odd, or a few of it in turn."""
    return ODD if THOROUGH else ODD[next(_turn) % 8 :: 8]


@pytest.fixture
def names(settings) -> list[str]:
    """The fields and filters of the site, as its templates name them: a new one is tried too."""
    folder = settings.BASE_DIR / "review" / "templates" / "review"
    text = "".join(path.read_text() for path in sorted(folder.glob("*.html")))
    found = set(re.findall(r'name="([a-z_:]+)"', text)) | set(re.findall(r"[?&;]([a-z_]+)=", text))
    found = (found | set(_MORE)) - {"csrfmiddlewaretoken", "production", "viewport"}
    assert len(found) > 40
    return sorted(found)


def encoded(given: dict) -> str:
    return urlencode(given, errors="surrogatepass")


@pytest.fixture
def ask(cast, site):
    browser = browser_of(cast.owner, raise_request_exception=False)

    def ask(path: str, method: str, given: str, production: str = "KB04") -> int:
        """The status of the answer; what the request changed is undone."""
        address = f"/{site(path)[0]}?production={production}"
        with transaction.atomic():
            if method == "GET":
                told = browser.get(f"{address}&{given}")
            else:
                told = browser.generic(method, address, given, "application/x-www-form-urlencoded")
            transaction.set_rollback(True)
        return told.status_code

    return ask


def test_any_text_in_every_field_at_once(ask, names):
    for path, methods in PAGES.items():
        for method in methods:
            for odd in some():
                assert ask(path, method, encoded(dict.fromkeys(names, odd))) != 500, (method, path, odd[:40])


def test_any_text_in_one_field_of_a_form_that_would_be_taken(ask, site):
    for path, methods in PAGES.items():
        body = site(path)[1]
        if "POST" not in methods or not body:
            continue
        for field in body:
            for odd in some():
                rest = "&".join(f"{name}={value}" for name, value in body.items() if name != field)
                given = f"{rest}&{encoded({field: odd})}"
                assert ask(path, "POST", given) != 500, (path, field, odd[:40])


def test_a_form_of_too_many_fields_or_bytes_is_refused(ask):
    assert ask("tags/", "POST", "&".join(f"f{n}=1" for n in range(5000))) == 400
    assert ask("tags/import/", "POST", "text=" + "x" * 3_000_000) == 400
    assert ask("keeping/list/", "POST", "name=x&text=" + "a+" * 200_000) in (302, 400)


def test_words_of_a_search_without_end(ask):
    for path in ("keeping/", "notes/", "selects/", "activity/", "coverage/"):
        assert ask(path, "GET", "text=" + quote_plus("a " * 1900)) in (200, 400), path


def test_a_production_that_is_none(ask):
    for odd in ("", "%00", "kb04%00", "x" * 3000, "%F0%9F%98%80", "'"):
        assert ask("cards/", "GET", "", odd) in (200, 404)
        assert ask("tags/", "POST", "name=x", odd) in (302, 400, 404)


# What a form must not be able to say, by any name.
_NOT_ASKED = {
    "id": 1, "pk": 1, "production_id": 0, "made_by": 0, "logger": 0, "person": 0, "taken_by": 0, "accepted_by": 0,
    "state": "verified", "proof": "checksums", "is_superuser": 1, "is_staff": 1, "is_active": 0, "version": 99,
    "confirmed": 1, "created": "2001-01-01", "wipe_copies": 0, "code": "ZZ99",
}  # fmt: skip


def test_a_form_says_nothing_that_it_is_not_asked(cast, site):
    """Fields of the rows behind a form are no fields of the form."""
    browser = browser_of(cast.owner)

    def facts():
        people = Membership.objects.filter(production=cast.kb04).values_list(
            "person__is_superuser", "person__is_staff", "person__password"
        )
        return (
            sorted(people.filter(person__username__in=["logger", "owner", "editor"])),
            list(Production.objects.values_list("id", "code", "wipe_copies", "rate_numerator")),
            list(Card.objects.values_list("proof", "contents", "production")),
        )

    before = facts()
    for path, methods in PAGES.items():
        address, body = site(path)
        if "POST" not in methods or path in ("people/*/stop/", "rules/"):
            continue
        forged = {name: value for name, value in _NOT_ASKED.items() if name not in (body or {})}
        given = "&".join(f"{name}={value}" for name, value in ((body or {}) | forged).items())
        with transaction.atomic():
            browser.generic("POST", f"/{address}?production=KB04", given, "application/x-www-form-urlencoded")
            assert facts() == before, path
            transaction.set_rollback(True)
