"""Finding selects among many: words, each filter, filters together, pages by key, and questions that make no sense.

The same suite runs on SQLite and PostgreSQL: their answers are the same because both are asked for plain words only.
"""

import uuid
from datetime import date

import pytest

from review import roles
from review.crew import access, people
from review.desk import finding, lists, returned_cuts
from review.marking import selecting
from review.marking.selecting import Mark
from review.models import Findable, ListExport, Select, WatchedRange, WorthKeeping
from review.record import findables, watching
from review.refusals import Refusal
from review.searching import pages, wanted


@pytest.fixture
def marked(cast, make_clip):
    """Selects of three clips by two people, named in their notes."""
    one = make_clip("A1", card="KB04-261112-A01")
    two = make_clip("B1", card="KB04-261112-B01")
    three = make_clip("A2", card="KB04-261113-A01", start="22:30:00:00")
    elsewhere = make_clip("X1", card="NR07-261112-A01", production=cast.nr07)
    made = {}
    for person, clip, note, tags, rating in (
        (cast.logger, one, "one: gull lands on the Cliff", ("gull", "cliff"), 5),
        (cast.editor, one, "two: only sea, he was laughing", ("sea",), 0),
        (cast.logger, two, "three: the gull again", ("gull", "sea"), 3),
        (cast.producer, three, "four: interview, Ølstad's café 100% sharp_focus", ("interview",), 4),
        (cast.stranger, elsewhere, "elsewhere: gull", ("gull",), 5),
    ):
        name = note.split(":")[0]
        mark = Mark(0, 40 if name == "four" else 10, tags, note, rating)
        made[name] = selecting.put(person, uuid.uuid4(), clip, mark, 0)
    gone = selecting.put(cast.logger, uuid.uuid4(), one, Mark(0, 10, ("gull",), "gone: gull"), 0)
    selecting.delete(cast.logger, gone)
    return {"one": one, "two": two, "three": three, "elsewhere": elsewhere, "selects": made}


@pytest.fixture
def find(cast, marked):
    """find(person=…, filter=value) -> the first word of each note found."""

    def by(person=cast.producer, **asked):
        found = finding.find(access.productions(person), wanted.read(asked))
        return sorted(row.select.note.split(":")[0] for row in found.rows)

    return by


ALL = ["four", "one", "three", "two"]


def test_it_works(find):
    assert find() == ALL


NARROWED = [
    ({"seen": "twice"}, []),
    ({"seen": "twice", "text": "gull"}, []),
    ({"production": "KB04"}, ALL),
    ({"production": "kb04"}, ALL),
    ({"production": "NR07"}, []),
    ({"card": "KB04-261112-A01"}, ["one", "two"]),
    ({"card": "KB04-261112"}, []),
    ({"camera": "A"}, ["four", "one", "two"]),
    ({"camera": "b"}, ["three"]),
    ({"date": "2026-11-12"}, ["one", "three", "two"]),
    ({"date": "2026-11-14"}, []),
    ({"day": "2"}, ["four"]),
    ({"day": "3"}, []),
    ({"since": "22:00"}, ["four"]),
    ({"since": "10", "until": "10:01"}, ["one", "three", "two"]),
    ({"since": "22:00", "until": "10:00"}, ["four"]),
    ({"until": "10:00"}, []),
    ({"since": "22:29:59", "until": "22:30:01"}, ["four"]),
    ({"since": "22:30:01", "until": "22:30:31"}, []),
    ({"tag": "gull"}, ["one", "three"]),
    ({"tag": "GULL"}, ["one", "three"]),
    ({"tag": "gull,sea"}, ["three"]),
    ({"tag": " gull , , sea "}, ["three"]),
    ({"tag": "gul"}, []),
    ({"tag_any": "cliff,interview"}, ["four", "one"]),
    ({"tag_any": "whale"}, []),
    ({"tag_none": "gull"}, ["four", "two"]),
    ({"tag_none": "whale"}, ALL),
    ({"tag": "gull", "tag_none": "sea"}, ["one"]),
    ({"rating": "4"}, ["four", "one"]),
    ({"rating": "0"}, ALL),
    ({"logger": "logger"}, ["one", "three"]),
    ({"logger": "nobody"}, []),
    ({"longer": "1"}, ["four"]),
    ({"shorter": "0.4"}, ["one", "three", "two"]),
    ({"longer": "0.4", "shorter": "0.4"}, ["one", "three", "two"]),
    ({"text": "GULL"}, ["one", "three"]),
    ({"text": "cliff lands"}, ["one"]),  # in any order
    ({"text": "inter foc"}, ["four"]),  # their beginnings
    ({"text": "erview"}, []),  # and not their ends
    ({"text": "B01"}, ["three"]),
    ({"text": "KB04-261112-B01"}, ["three"]),
    ({"text": "A2"}, ["four"]),
    ({"text": "sea"}, ["three", "two"]),
    ({"text": "producer"}, ["four"]),  # who marked it
    ({"text": "laughs"}, ["two"]),
    ({"text": "he laughed"}, ["two"]),
    ({"text": "olstad cafe"}, ["four"]),
    ({"text": "ØLSTAD CAFÉ"}, ["four"]),
    ({"text": "100%"}, ["four"]),  # a sign that databases take for 'anything'
    ({"text": "%"}, []),
    ({"text": "sharp_focus"}, ["four"]),
    ({"text": "r%f"}, []),
    ({"text": "gull OR interview"}, []),  # no word of anybody's query language
    ({"text": "gull NOT again"}, []),
    ({"text": 'gull" OR "sea'}, ["three"]),  # `or` is a little word
    ({"text": "gull:* | sea"}, ["three"]),
    ({"text": "words:gull"}, []),
    ({"text": "'; drop table review_select; --"}, []),
    ({"text": "the"}, ["one", "three"]),  # alone, even a little word is asked for
    ({"text": "the interview"}, ["four"]),
    ({"tag": "sea", "camera": "A"}, ["two"]),
    ({"date": "2026-11-12", "rating": "3", "logger": "logger", "tag": "gull", "text": "again"}, ["three"]),
    ({"card": "  ", "text": "", "tag": ","}, ALL),
]


@pytest.mark.parametrize("gone_through", [False, True], ids=["looked up", "gone through"])
def test_each_filter_narrows(find, monkeypatch, gone_through):
    if gone_through:  # as where everything asked for is common
        monkeypatch.setattr(finding, "RARE", -1)
    answers = [(asked, find(**asked)) for asked, _ in NARROWED]
    assert answers == NARROWED


def test_a_clip_by_its_number(find, marked):
    assert find(clip=str(marked["two"].id)) == ["three"]
    assert find(clip=str(marked["elsewhere"].id)) == []


def test_a_stranger_finds_only_their_own(find, cast):
    assert find(cast.stranger) == ["elsewhere"]
    assert find(cast.stranger, production="KB04") == []


def test_a_member_of_two_productions_finds_in_both(find, cast):
    people.add_member("stranger", cast.kb04, roles.LOGGER)
    assert find(cast.stranger, text="gull") == ["elsewhere", "one", "three"]


def test_what_other_cameras_saw(find):
    assert find(angles="yes") == ["one", "three", "two"]  # A and B rolled at ten; four is of another day


def test_what_two_people_watched_whole(find, cast, marked):
    def watched(person, clip, *ranges):
        for start, end in ranges:
            WatchedRange.objects.create(
                clip=clip, person=person, manner=watching.WATCHED, in_frame=start, out_frame=end
            )

    watched(cast.logger, marked["three"], (0, 40))
    watched(cast.editor, marked["three"], (0, 39))
    watched(cast.logger, marked["two"], (0, 10))
    watched(cast.editor, marked["two"], (0, 50))
    for name in ("one", "two"):
        findables.watched(marked[name])
    assert find(seen="twice") == ["three"]
    findables.keep(Select.objects.all())
    assert find(seen="twice") == ["three"]


def test_what_was_not_pulled_yet(find, cast, marked):
    one, two = (marked["selects"][name] for name in ("one", "two"))
    made = lists.make(cast.editor, cast.kb04, "best", [one.id, two.id])
    content = {"name": "x", "content": b"", "content_type": "text/plain", "sha256": "", "kind": "edl"}
    ListExport.objects.create(list=made, number=1, events=[[str(one.id), 0, 10]], **content)
    assert find(pulled="unlisted") == ["four", "three"]
    assert find(pulled="no") == ["four", "three", "two"]


@pytest.mark.parametrize("gone_through", [False, True], ids=["looked up", "gone through"])
def test_what_a_cut_uses_a_frame_of(find, cast, marked, monkeypatch, gone_through):
    if gone_through:
        monkeypatch.setattr(finding, "RARE", -1)
    assert (find(cut="yes"), find(cut="no")) == ([], ALL)
    line = "{:03}  {} V  C  {} {} 01:00:00:00 01:00:00:05\n"
    used = [("61112A01", "10:00:00:09", "10:00:00:14"), ("61112B01", "10:00:00:10", "10:00:00:15")]
    edl = "".join(line.format(at, *event) for at, event in enumerate(used * 2, 1))
    returned_cuts.take_in(cast.editor, cast.kb04, "a.edl", edl.encode())
    assert find(cut="yes") == ["one", "two"]  # three ends where the second begins
    assert find(cut="no") == ["four", "three"]
    assert find(cut="yes", text="gull") == ["one"]
    assert find(cast.stranger, cut="yes") == []


def test_what_is_worth_keeping(find, cast, marked):
    WorthKeeping.objects.create(select=marked["selects"]["four"], flagged_by=cast.editor)
    assert find(keep="yes") == ["four"]


REFUSED = [
    ({"date": "12.11.2026"}, "date", "is not a date; write it as 2026-11-12"),
    ({"date": "2026-02-30"}, "date", "is not a date"),
    ({"day": "0"}, "day", "count them from 1"),
    ({"day": "x"}, "day", "is no shoot day"),
    ({"since": "25:00"}, "since", "write it as 16:30"),
    ({"until": "noon"}, "until", "is not a time of day"),
    ({"rating": "6"}, "rating", "it goes from 0 to 5"),
    ({"rating": "-1"}, "rating", "it goes from 0 to 5"),
    ({"rating": "good"}, "rating", "is not a rating"),
    ({"clip": "A1"}, "clip", "is not a clip's number"),
    ({"clip": "9" * 40}, "clip", "is not a clip's number"),
    ({"clip": "-1"}, "clip", "is not a clip's number"),
    ({"longer": "-1"}, "longer", "is not a length in seconds"),
    ({"shorter": "1e9"}, "shorter", "is not a length in seconds"),
    ({"tag": ",".join(map(str, range(30)))}, "tag", "30 tags in one filter"),
    ({"seen": "thrice"}, "seen", "use twice"),
    ({"pulled": "yes"}, "pulled", "use no or unlisted"),
    ({"cut": "maybe"}, "cut", "use yes or no"),
    ({"sort": "size"}, "sort", "use shot or newest or rating"),
]


@pytest.mark.parametrize(("asked", "field", "words"), REFUSED)
def test_a_filter_that_makes_no_sense_is_refused_in_words(asked, field, words):
    with pytest.raises(Refusal, match=words) as refused:
        wanted.read(asked)
    assert refused.value.field == field


# Pages -----------------------------------------------------------------------------------------


@pytest.fixture
def many(cast, make_clip):
    """23 selects, several at one moment, several of one rating."""
    clip = make_clip("A1", frames=500)
    for at in range(23):
        selecting.put(cast.logger, uuid.uuid4(), clip, Mark(at // 3 * 10, 400, note=f"n{at}", rating=at % 4), 0)
    return Findable.objects.filter(production=cast.kb04)


def walked(rows, sort: str, **how) -> tuple[list[list[int]], list[list[int]]]:
    """The ids of the pages of five from the first to the last, and of those before the last on the way back."""
    forwards, backwards, after, page = [], [], "", None
    while page is None or page.after:
        page = pages.page(rows, sort, 5, after=after, **how)
        forwards.append([row.id for row in page.rows])
        after = page.after or ""
    while page.before:
        page = pages.page(rows, sort, 5, before=page.before, **how)
        backwards.append([row.id for row in page.rows])
    return forwards, backwards


@pytest.mark.parametrize("sort", wanted.SORTS)
def test_pages_hold_everything_once_in_order_both_ways(many, sort):
    forwards, backwards = walked(many, sort)
    assert [row for rows in forwards for row in rows] == [row.id for row in pages.ordered(many, sort)]
    assert [len(rows) for rows in forwards] == [5, 5, 5, 5, 3]
    assert backwards == forwards[-2::-1]


@pytest.mark.parametrize("sort", wanted.SORTS)
def test_those_of_several_productions_too(cast, many, make_clip, sort):
    clip = make_clip("X1", card="NR07-261112-A01", production=cast.nr07, frames=500)
    for at in range(9):
        selecting.put(cast.stranger, uuid.uuid4(), clip, Mark(at * 10, 400, rating=at % 3), 0)
    both = Findable.objects.filter(production__in=[cast.kb04, cast.nr07])
    forwards, backwards = walked(both, sort, apart=[cast.kb04.id, cast.nr07.id])
    assert [row for rows in forwards for row in rows] == [row.id for row in pages.ordered(both, sort)]
    assert backwards == forwards[-2::-1]


def test_pages_are_sorted_as_they_say(many):
    assert [row.shot_at for row in pages.page(many, "shot", 50).rows] == sorted(row.shot_at for row in many)
    ratings = [row.rating for row in pages.page(many, "rating", 50).rows]
    assert ratings == sorted(ratings, reverse=True)
    assert pages.page(many, "newest", 1).rows[0].select.note == "n22"


def test_a_page_stays_true_when_something_is_marked_before_it(cast, many):
    first = pages.page(many, "shot", 5)
    selecting.put(cast.logger, uuid.uuid4(), first.rows[0].select.clip, Mark(0, 1, note="late"), 0)
    after = [row.id for row in pages.page(many, "shot", 5, after=first.after).rows]
    whole = [row.id for row in pages.ordered(many, "shot")]
    at = whole.index(first.rows[-1].id)
    assert after == whole[at + 1 : at + 6]


def test_a_page_beyond_the_end_is_empty(many):
    last = pages.page(many, "shot", 50)
    assert (last.before, last.after) == (None, None)
    end = pages._write(last.rows[-1], "shot")
    assert pages.page(many, "shot", 5, after=end).rows == []


@pytest.mark.parametrize("cursor", ["x", "1.2", "é", "MQ", "MS4y LjM", "A" * 5000, "OTk5OTk5OTk5OTk5OTk5OTk5OTk5OS4x"])
def test_a_cursor_that_is_none_is_refused(many, cursor):
    with pytest.raises(Refusal, match="begin with the first"):
        pages.page(many, "shot", 5, after=cursor)


def test_counting_stops_where_nobody_counts(many):
    assert pages.count(many) == (23, True)
    assert pages.count(many, 23) == (23, True)
    assert pages.count(many, 22) == (22, False)


def test_counting_is_right_whether_some_are_enough_or_not(cast, many, monkeypatch):
    monkeypatch.setattr(finding, "RARE", 8)
    found = finding.find([cast.kb04], wanted.read({"rating": "1"}))
    assert found.some.count() == 9
    for most, counted in ((5, (5, False)), (8, (8, False)), (9, (9, False)), (17, (17, True))):
        assert pages.count(found.rows, most, found.some) == counted
    found = finding.find([cast.kb04], wanted.read({"rating": "1", "shorter": "12"}))  # none of which is so short
    assert found.some is not None and pages.count(found.rows, 5, found.some) == (0, True)


def test_shoot_days_are_counted_from_the_first(find, cast):
    assert finding.shoot_days(cast.kb04) == [date(2026, 11, 12), date(2026, 11, 13)]
