"""Exports are kept as they went out; what is new since somebody's last pull; scripts that do all of it."""

import hashlib
import io
import re
import uuid
import zipfile
from datetime import timedelta

import pytest
from django.utils import timezone

from review.desk import arranging, exporting, lists
from review.exports import ExportOptions
from review.marking import selecting
from review.marking.selecting import Mark
from review.models import Activity, ListExport
from review.refusals import NotFound, Refusal
from tests.conftest import api_of


@pytest.fixture
def mark(cast, a_clip):
    def make(in_frame=0, out_frame=10, **says):
        return selecting.put(cast.logger, uuid.uuid4(), a_clip, Mark(in_frame, out_frame, **says), 0)

    return make


@pytest.fixture
def two(cast, mark):
    ids = [mark(0, 10).id, mark(20, 30).id]
    return lists.make(cast.editor, cast.kb04, "best", ids), ids


def events(export) -> list[str]:
    return [line[29:52] for line in bytes(export.content).decode("ascii").split("\r\n") if line[:3].isdigit()]


def test_an_export_is_kept_with_who_when_what_and_a_hash(cast, two):
    made, ids = two
    options = ExportOptions.read({"order": "source", "start": "10:00:00:00"})
    sent = exporting.export_by(cast.producer, made, "edl", options)
    kept = exporting.kept(made, 1)
    assert (kept.number, kept.made_by, kept.kind, kept.name) == (1, cast.producer, "edl", "best.edl")
    assert kept.options == {"order": "source", "start": "10:00:00:00"}
    assert kept.content == sent.content and kept.sha256 == hashlib.sha256(sent.content).hexdigest()
    assert kept.events == [[str(ids[0]), 0, 10], [str(ids[1]), 20, 30]]
    told = Activity.objects.filter(did="exported").get()
    assert told.words == "the list “best” as EDL, 2 events, number 1"


def test_a_version_stays_as_it_went_out_whatever_the_list_becomes(cast, two):
    made, ids = two
    first = exporting.export_by(cast.editor, made, "edl")
    arranging.take_out(cast.editor, made, 1, [ids[0]])
    second = exporting.export_by(cast.editor, made, "edl")
    assert [each.number for each in exporting.versions(made)] == [2, 1]
    assert [each.size for each in exporting.versions(made)] == [len(second.content), len(first.content)]
    assert (len(events(exporting.kept(made, 1))), len(events(exporting.kept(made, 2)))) == (2, 1)
    for number in (0, 3, 2**40):
        with pytest.raises(NotFound, match=f"has no export {number}"):
            exporting.kept(made, number)


def test_a_click_twice_is_one_export_and_a_later_one_another(cast, two):
    made, _ = two
    assert exporting.export_by(cast.editor, made, "csv").number == 1
    assert exporting.export_by(cast.editor, made, "csv").number == 1
    assert exporting.export_by(cast.producer, made, "csv").number == 2
    ListExport.objects.update(made_at=timezone.now() - timedelta(minutes=2))
    assert exporting.export_by(cast.producer, made, "csv").number == 3


def test_a_refused_export_is_not_kept(cast, two):
    made, _ = two
    with pytest.raises(Refusal, match="cannot be that at 25") as refused:
        exporting.export_by(cast.editor, made, "edl", ExportOptions.read({"start": "01:00:00:29"}))
    assert refused.value.field == "start"
    assert not ListExport.objects.exists()


def test_what_is_new_since_my_last_pull_exports_alone(cast, two, mark):
    made, ids = two
    exporting.export_by(cast.editor, made, "edl")
    assert exporting.news(made, cast.editor).events == ()
    third = mark(40, 50).id
    lists.add(cast.editor, made, [third])
    made, _ = arranging.trim(cast.editor, made, 2, ids[1], 20, 25)
    made = arranging.take_out(cast.editor, made, 3, [ids[0]])
    news = exporting.news(made, cast.editor)
    assert ([event.in_frame for event in news.events], news.gone, news.last.number) == ([20, 40], 1, 1)
    assert ([event.in_frame for event in news.changed], news.added) == ([20], 1)
    only = exporting.export_by(cast.editor, made, "edl", only_new=True)
    assert (only.name, only.options) == ("best new.edl", {"new": True})
    assert events(only) == ["10:00:00:20 10:00:01:00", "10:00:01:15 10:00:02:00"]
    with pytest.raises(Refusal, match="Nothing is new in “best” since your export 2") as refused:
        exporting.export_by(cast.editor, made, "edl", only_new=True)
    assert refused.value.field == "new"


def test_another_persons_pull_and_a_table_are_no_pull_of_mine(cast, two):
    made, _ = two
    exporting.export_by(cast.producer, made, "edl")
    exporting.export_by(cast.editor, made, "csv")
    assert exporting.news(made, cast.editor).last is None
    with pytest.raises(Refusal, match="You have not pulled “best” before, so all of it is new"):
        exporting.export_by(cast.editor, made, "otio", only_new=True)
    with pytest.raises(Refusal, match="say who"):
        exporting.export(made, "edl", only_new=True)


def test_two_pulls_of_what_is_new_never_give_the_same_twice(cast, two, mark):
    made, _ = two
    exporting.export_by(cast.editor, made, "edl")
    given = []
    for start in (40, 45):
        lists.add(cast.editor, made, [mark(start, start + 3).id])
        given += events(exporting.export_by(cast.editor, made, "edl", only_new=True))
    assert len(given) == len(set(given)) == 2


def test_what_cannot_be_carried_is_told_to_members_only(cast, mark):
    made = lists.make(cast.editor, cast.kb04, "Hügel", [mark(note="Möwe").id])
    words = [each.words for each in exporting.check(cast.media_manager, made, "edl", ExportOptions())]
    assert any("The list's name is spelt out" in each for each in words)
    assert any("1 select: tags, note or section" in each for each in words)
    assert not ListExport.objects.exists()
    with pytest.raises(NotFound):
        exporting.check(cast.stranger, made, "edl", ExportOptions())
    with pytest.raises(Refusal, match="has no selects"):
        exporting.check(cast.editor, lists.make(cast.editor, cast.kb04, "empty"), "edl", ExportOptions())


# The JSON surface ------------------------------------------------------------------------------


def test_a_script_alone_makes_arranges_and_exports_a_list(cast, a_clip, mark):
    ids = [str(mark(0, 10, tags=("gull",)).id), str(mark(20, 30, tags=("gull",)).id)]
    script = api_of(cast.editor)
    made = script.post("/api/v1/lists/", {"name": "gulls", "production": "KB04"}).json()
    address = f"/api/v1/lists/{made['id']}/"
    told = script.post(f"{address}add/", {"found": {"tag": "gull"}}).json()
    assert (told["selects"], told["version"]) == (ids, 2)
    told = script.post(f"{address}edit/", {"do": "section", "title": "B", "before": ids[1], "version": 2}).json()
    assert [(each["title"], each["selects"]) for each in told["sections"]] == [("B", [ids[1]])]
    told = script.post(
        f"{address}edit/", {"do": "trim", "selects": [ids[0]], "in_frame": 2, "out_frame": 999, "version": 3}
    ).json()
    assert told["trims"] == {ids[0]: [2, 50]} and "nothing before" in told["said"]
    told = script.post(f"{address}edit/", {"do": "settle", "handles": 40, "merge": True, "version": 4}).json()
    assert (told["handles"], told["merge"], told["version"]) == (40, True, 5)
    remarks = script.get(f"{address}preflight/", {"as": "edl"}).json()
    assert {"weight", "words", "places", "count"} == set(remarks[0])
    kept = script.post(f"{address}exports/", {"as": "edl", "order": "source", "columns": []}).json()
    assert (kept["number"], kept["made_by"], kept["kind"], kept["options"]) == (
        *(1, "editor", "edl"),
        {"order": "source", "merge": True},
    )
    answer = script.get(kept["url"])
    assert hashlib.sha256(answer.content).hexdigest() == kept["sha256"]
    assert (answer["Content-Disposition"], len(answer.content)) == ('attachment; filename="gulls.edl"', kept["size"])
    assert script.get(f"{address}exports/").json()["results"] == [kept]


def test_the_export_address_takes_options_and_keeps_a_version(cast, two):
    made, _ = two
    address = f"/api/v1/lists/{made.id}/export/"
    script = api_of(cast.logger)
    answer = script.get(address, {"as": "edl", "table": "yes", "start": "10:00:00:00"})
    assert answer["X-Export-Number"] == "1"
    with zipfile.ZipFile(io.BytesIO(answer.content)) as archive:
        assert archive.namelist() == ["best.edl", "best manifest.txt", "best reels.csv"]
        assert re.search(rb"10:00:00:00 10:00:00:10\r\n", archive.read("best.edl"))
    assert script.get(f"/api/v1/lists/{made.id}/exports/1/").content == answer.content


@pytest.mark.parametrize(
    ("query", "field"),
    [
        ({"as": "edl", "order": "odd"}, "order"),
        ({"as": "edl", "new": "maybe"}, "new"),
        ({"as": "edl", "new": "yes"}, "new"),
        ({"as": "csv", "columns": "shoe size"}, "columns"),
        ({"as": "doc"}, "as"),
        ({}, "as"),
    ],
)
def test_a_choice_that_there_is_not_is_told_by_its_field(cast, two, query, field):
    made, _ = two
    for act in ("export", "preflight"):
        told = api_of(cast.editor).get(f"/api/v1/lists/{made.id}/{act}/", query)
        assert told.status_code == 400 and told.json()[field]
    assert not ListExport.objects.exists()


def test_a_conflict_shows_the_list_as_it_is(cast, two):
    made, ids = two
    script = api_of(cast.editor)
    body = {"do": "move", "selects": [str(ids[0])], "version": 1}
    assert script.post(f"/api/v1/lists/{made.id}/edit/", body).status_code == 200
    told = script.post(f"/api/v1/lists/{made.id}/edit/", body)
    assert (told.status_code, told.json()["current"]["version"]) == (409, 2)
    assert told.json()["current"]["selects"] == [str(ids[1]), str(ids[0])]


@pytest.mark.parametrize("number", ["0", "99", "x", "-1", "9" * 30])
def test_a_version_that_there_is_not(cast, two, number):
    answer = api_of(cast.editor).get(f"/api/v1/lists/{two[0].id}/exports/{number}/")
    assert answer.status_code in (400, 404) and answer.json()["detail"]
