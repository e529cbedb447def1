"""The list of selects for scripts: filters, pages by key that hold everything once, counts, and questions refused."""

import uuid

import pytest

from review.api.paging import KeyPages
from review.marking import selecting
from review.marking.selecting import Mark
from tests.conftest import api_of

SELECTS = "/api/v1/selects/"


@pytest.fixture
def many(cast, make_clip) -> list[str]:
    """The ids of 23 selects in the order they were shot."""
    clip = make_clip(frames=100)
    ids = []
    for at in (*range(12, 23), *range(12)):
        mark = Mark(at, at + 5, ("gull",) if at % 2 else (), f"n{at} laughs", at % 3)
        ids.append((at, str(selecting.put(cast.logger, uuid.uuid4(), clip, mark, 0).id)))
    return [each for _, each in sorted(ids)]


def follow(script, address: str, link: str) -> list[list[str]]:
    pages = []
    while address:
        told = script.get(address).json()
        pages.append([row["id"] for row in told["results"]])
        address = told[link]
    return pages


def test_following_next_gives_everything_once_in_order(cast, many):
    pages = follow(api_of(cast.editor), f"{SELECTS}?page_size=10", "next")
    assert [each for page in pages for each in page] == many
    assert [len(page) for page in pages] == [10, 10, 3]


def test_previous_leads_back(cast, many):
    script = api_of(cast.editor)
    first = script.get(SELECTS, {"page_size": 10}).json()
    second = script.get(first["next"]).json()
    assert first["previous"] is None
    assert [row["id"] for row in script.get(second["previous"]).json()["results"]] == many[:10]


def test_filters_and_sort_stay_in_the_links(cast, many):
    script = api_of(cast.editor)
    pages = follow(script, f"{SELECTS}?page_size=4&tag=gull&sort=newest&text=laughing", "next")
    assert [len(page) for page in pages] == [4, 4, 3]
    assert pages[0][0] == many[11]  # the last that was marked
    best = script.get(SELECTS, {"sort": "rating", "page_size": 8}).json()["results"]
    assert [row["rating"] for row in best] == [2] * 7 + [1]


def test_the_count_goes_so_far_and_says_so(cast, many, monkeypatch):
    script = api_of(cast.editor)
    told = script.get(SELECTS).json()
    assert (told["count"], told["counted_all"]) == (23, True)
    monkeypatch.setattr(KeyPages, "MOST_COUNTED", 20)
    told = script.get(SELECTS).json()
    assert (told["count"], told["counted_all"], len(told["results"])) == (20, False, 23)


def test_pages_by_number_are_there_for_scripts_that_count_them(cast, many):
    script = api_of(cast.editor)
    second = script.get(SELECTS, {"page": 2, "page_size": 10}).json()
    assert [row["id"] for row in second["results"]] == many[10:20]
    assert "page=3" in second["next"]
    assert script.get(SELECTS, {"page": 9, "page_size": 10}).status_code == 404


@pytest.mark.parametrize(
    ("asked", "field"), [({"after": "zzz"}, "after"), ({"rating": "9"}, "rating"), ({"since": "dusk"}, "since")]
)
def test_what_makes_no_sense_is_refused(cast, asked, field):
    told = api_of(cast.editor).get(SELECTS, asked)
    assert told.status_code == 400 and told.json()[field] == [told.json()["detail"]]


def test_a_stranger_gets_none(cast, many):
    assert api_of(cast.stranger).get(SELECTS, {"production": "KB04"}).json()["count"] == 0
