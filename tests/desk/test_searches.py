"""Searches with a name: kept for everybody, refused where they say nothing, forgotten by whoever named them."""

import pytest

from review.desk import searches
from review.models import Activity
from review.refusals import NotAllowed, NotFound, Refusal
from tests.conftest import api_of, browser_of, see


def test_it_works(cast):
    made = searches.name(cast.editor, cast.kb04, "  the   gate ", "?text=gate&camera=&page=2&rating=4")
    assert (made.name, made.query, made.made_by) == ("the gate", "text=gate&rating=4", cast.editor)
    assert str(Activity.objects.first()) == "editor named the search “the gate”"


def test_only_what_a_search_is_made_of_is_kept():
    query = "production=NR07&after=xyz&view=pictures&text=caf%C3%A9+%26+gull&tag=Gull,sea&since=9&longer=2.5&sort=shot"
    assert searches.tidy(query) == "text=caf%C3%A9+%26+gull&since=09%3A00&tag=gull%2Csea&longer=2.5"


@pytest.mark.parametrize(
    ("title", "query", "words"),
    [
        ("", "text=gull", "Give the search a name"),
        ("x" * 81, "text=gull", "of up to 80 characters"),
        ("x", "", "There is nothing to keep"),
        ("x", "page=2&sort=", "There is nothing to keep"),
        ("x", "rating=9", "it goes from 0 to 5"),
        ("x", "&".join("a=b" for _ in range(200)), "more parts than there are filters"),
        ("the gate", "text=gull", "already; take another name"),
    ],
)
def test_what_cannot_be_kept_is_refused_in_words(cast, title, query, words):
    searches.name(cast.owner, cast.kb04, "the gate", "text=gate")
    with pytest.raises(Refusal, match=words):
        searches.name(cast.editor, cast.kb04, title, query)


def test_a_production_has_so_many_and_no_more(cast, monkeypatch):
    monkeypatch.setattr(searches, "MOST", 1)
    searches.name(cast.editor, cast.kb04, "one", "text=gate")
    with pytest.raises(Refusal, match="forget one first"):
        searches.name(cast.editor, cast.kb04, "two", "text=gate")


def test_whoever_named_it_and_an_owner_forget_it(cast):
    for person in (cast.editor, cast.owner):
        searches.forget(person, searches.name(cast.editor, cast.kb04, "the gate", "text=gate"))
    made = searches.name(cast.editor, cast.kb04, "the gate", "text=gate")
    with pytest.raises(NotAllowed, match="you must be editor, who named it, or an owner"):
        searches.forget(cast.producer, made)
    with pytest.raises(NotFound):
        searches.forget(cast.stranger, made)
    with pytest.raises(NotFound):
        searches.name(cast.stranger, cast.kb04, "mine", "text=gate")


def test_a_script_names_lists_and_forgets_them(cast):
    script = api_of(cast.editor)
    asked = {"production": "KB04", "name": "the gate", "query": "text=gate"}
    made = script.post("/api/v1/searches/", asked)
    assert made.status_code == 201 and made.json()["query"] == "text=gate"
    assert script.get("/api/v1/searches/", {"production": "KB04"}).json()["results"] == [made.json()]
    again = script.post("/api/v1/searches/", asked)
    assert again.status_code == 400 and "already" in again.json()["name"][0]
    assert api_of(cast.stranger).get("/api/v1/searches/").json()["results"] == []
    assert script.delete(f"/api/v1/searches/{made.json()['id']}/").status_code == 204


def test_the_page_offers_them_to_everybody(cast, full):
    browser = browser_of(cast.editor)
    named = browser.post(
        "/selects/searches/?production=KB04", {"name": "the <gull>", "query": "text=gull"}, follow=True
    )
    assert "Kept as “the &lt;gull&gt;”" in named.content.decode()
    page = see(cast.logger, "/selects/")
    assert "the &lt;gull&gt;" in page and "?text=gull" in page
