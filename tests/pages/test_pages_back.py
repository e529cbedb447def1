"""The pages of cuts that came back, of footage worth keeping and of the tag set."""

import re
import uuid

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from review.desk import keeping, returned_cuts
from review.marking import selecting
from review.marking.selecting import Mark
from review.models import Cut
from tests.conftest import browser_of, see

EDL = (
    "TITLE: ASSEMBLY 1\n"
    "001  61112A01 V     C        10:00:00:10 10:00:01:10 01:00:00:00 01:00:01:00\n"
    "002  61112A01 V     C        12:00:00:00 12:00:01:00 01:00:01:00 01:00:02:00\n"
    "* FROM CLIP NAME: <b>wide</b>\n"
)


def post(person, address: str, **body) -> str:
    """The page that a form leads to."""
    browser = browser_of(person)
    page = f"http://testserver/{address.split('/')[1]}/"
    answer = browser.post(f"{address}?production=KB04", body, follow=True, headers={"referer": page})
    assert answer.status_code == 200
    return answer.content.decode()


@pytest.fixture
def cut(cast, a_clip) -> Cut:
    return returned_cuts.take_in(cast.editor, cast.kb04, "a.edl", EDL.encode())


def test_a_cut_list_is_uploaded_and_its_events_shown(cast, a_clip):
    page = post(cast.editor, "/cuts/", list=SimpleUploadedFile("a.edl", EDL.encode()), name="", rate="25")
    assert "<h1>ASSEMBLY 1</h1>" in page and "found by reel 61112A01" in page
    assert "no clip on KB04-261112-A01 (reel 61112A01) has this timecode" in page
    assert "&lt;b&gt;wide&lt;/b&gt;" in page and "<b>wide</b>" not in page
    assert f'/clips/{a_clip.id}/?frame=10"' in page


@pytest.mark.parametrize(
    ("content", "rate", "words"),
    [(b"hello", "25", "is not a CMX3600 EDL"), (EDL.encode(), "7", "The rate is wrong"), (b"", "25", "nothing in it")],
)
def test_what_cannot_be_taken_in_is_said_on_the_page(cast, a_clip, content, rate, words):
    page = post(cast.editor, "/cuts/", list=SimpleUploadedFile("a.edl", content), name="", rate=rate)
    assert words in page and "<h1>Returned cuts</h1>" in page


def test_somebody_who_may_not_sees_the_cuts_and_no_form(cast, cut):
    page = see(cast.logger, "/cuts/?production=KB04")
    assert "ASSEMBLY 1" in page and "Take it in" not in page
    assert "Forget this cut" not in see(cast.logger, f"/cuts/{cut.id}/")


def test_the_events_are_narrowed_by_how_sure_they_are(cast, cut):
    lost = see(cast.producer, f"/cuts/{cut.id}/?sure=lost")
    assert "12:00:00:00" in lost and "10:00:00:10" not in lost
    assert "None of these." in see(cast.producer, f"/cuts/{cut.id}/?sure=none")


def test_what_each_card_gave(cast, cut, make_clip):
    make_clip("B1", card="KB04-261112-B01")
    for page in (see(cast.producer, "/cuts/?production=KB04"), see(cast.producer, f"/cuts/{cut.id}/used/")):
        assert re.search(r"KB04-261112-A01</a>.*?<b>50.0</b>", page, re.DOTALL)
        assert re.search(r"KB04-261112-B01</a>.*?nothing", page, re.DOTALL)


def test_the_restore_list_as_page_and_csv(cast, cut):
    page = see(cast.media_manager, f"/cuts/{cut.id}/restore/?handles=0.5")
    assert "CLIP/A001C001.MOV" in page and "No copy is proven of" in page
    assert re.search(
        r"1 event of the cut is not in this list.*<b>002</b>, line 3, not found:.*<h2>From where", page, re.S
    )
    told = browser_of(cast.media_manager).get(f"/cuts/{cut.id}/restore/?handles=1&as=csv")
    assert told["Content-Disposition"] == 'attachment; filename="restore list - ASSEMBLY 1.csv"'
    assert b"KB04-261112-A01,61112A01,CLIP/A001C001.MOV,not known,holds the frames" in told.content


def test_handles_that_are_none_are_refused_beside_what_was_typed(cast, cut):
    page = see(cast.media_manager, f"/cuts/{cut.id}/restore/?handles=-3", 400)
    assert 'value="-3"' in page and "Handles are seconds" in page and "Restore list</a>" in page
    assert "as=csv" not in page
    assert "Handles are seconds" in see(cast.media_manager, f"/cuts/{cut.id}/restore/?handles=-3&as=csv", 400)


def test_a_candidate_opens_at_its_frame_and_is_chosen(cast, cut, make_clip):
    drone = make_clip("D1", card="KB04-261112-D01", start="11:59:59:15")
    edl = EDL.replace("002  61112A01", "002  SOMEWHAT").replace("* FROM", "* NO")
    cut = returned_cuts.take_in(cast.editor, cast.kb04, "b.edl", edl.encode())
    at = f"/cuts/{cut.id}/"
    page = see(cast.editor, f"{at}?sure=lost")
    assert f'/clips/{drone.id}/?frame=10"' in page and f'value="3/{drone.id}"' in page
    assert "It is this one" not in see(cast.logger, f"{at}?sure=lost")
    page = post(cast.editor, f"{at}choose/", choice=f"3/{drone.id}")
    assert "For event 002 (line 3): KB04-261112-D01 D1, as you chose." in page
    assert "chosen by editor" in page and 'value="3/">Leave it to the list again' in page
    assert "left to the list again" in post(cast.editor, f"{at}choose/", choice="3/")
    for nonsense in ("", "x/1", f"3/{'9' * 30}", "²/1"):
        assert "Choose one of the clips" in post(cast.editor, f"{at}choose/", choice=nonsense)


def test_the_selects_that_made_it(cast, cut, a_clip):
    for frames, note in (((0, 11), "in the cut"), ((40, 50), "left out")):
        selecting.put(cast.logger, uuid.uuid4(), a_clip, Mark(*frames, (), note), 0)
    page = see(cast.logger, f"/cuts/{cut.id}/made-it/")
    assert (
        "1 of 2 selects" in page
        and "1 of 11<br><small>frames" in page
        and "in the cut" in page
        and "left out" not in page
    )


def test_a_cut_is_looked_at_again_and_forgotten(cast, cut):
    assert "Looked for the events" in post(cast.editor, f"/cuts/{cut.id}/again/", rate="25")
    assert "“ASSEMBLY 1” is forgotten" in post(cast.editor, f"/cuts/{cut.id}/forget/")
    assert "No cut has come back yet" in see(cast.editor, "/cuts/?production=KB04")


@pytest.fixture
def kept(cast, a_clip):
    select = selecting.put(cast.logger, uuid.uuid4(), a_clip, Mark(0, 11, ("gull",), "on the rail"), 0)
    return keeping.flag(cast.logger, select, "none", "Bay trust <2031>")


def test_what_is_worth_keeping_is_listed_and_pulled(cast, kept):
    page = see(cast.media_manager, "/keeping/?production=KB04")
    assert "nobody recognisable" in page and "Bay trust &lt;2031&gt;" in page and "Make the list" not in page
    made = post(cast.editor, "/keeping/list/", name="library", select=[str(kept.select_id)])
    assert "<h1>library</h1>" in made or "library" in made
    assert list(cast.kb04.lists.get().entries.values_list("select_id", flat=True)) == [kept.select_id]


def test_all_that_the_filters_find_is_pulled_where_nothing_is_ticked(cast, kept):
    assert "Nothing is chosen" in post(cast.editor, "/keeping/list/", name="x", people="recognisable")
    post(cast.editor, "/keeping/list/", name="x", people="none")
    assert cast.kb04.lists.get().entries.count() == 1
    assert "not selects of KB04" in post(cast.editor, "/keeping/list/", name="y", select=["nonsense"])


def test_the_csv_has_what_the_filters_find(cast, kept):
    browser = browser_of(cast.media_manager)
    assert b"Bay trust <2031>" in browser.get("/keeping/?production=KB04&as=csv&people=none").content
    assert b"Bay trust" not in browser.get("/keeping/?production=KB04&as=csv&people=recognisable").content
    assert "is not a date" in see(cast.editor, "/keeping/?production=KB04&date=soon", 400)


def test_a_set_of_tags_is_imported_and_grouped_in_order(cast):
    text = "kind: wide\nzoo: heron\npeople: Skipper\n: loose"
    page = post(cast.editor, "/tags/import/", text=text)
    assert "Imported: 4 added" in page
    assert re.findall(r'class="tag-group" aria-label="([^"]+)"', page) == ["people", "kind", "zoo", "no group"]


def test_words_with_numbers_are_in_the_order_of_the_numbers(cast):
    page = post(cast.editor, "/tags/import/", text="place: bay 10, bay 2, bay 1")
    assert re.findall('data-word="([^"]+)"', page) == ["bay 1", "bay 2", "bay 10"]


def test_a_tag_is_changed_merged_moved_and_removed(cast, a_clip):
    selecting.put(cast.logger, uuid.uuid4(), a_clip, Mark(0, 11, ("gul",)), 0)
    gul = cast.kb04.tags.get()
    assert f'name="name" value="{gul.name}"' in see(cast.editor, f"/tags/?production=KB04&edit={gul.id}")
    post(cast.editor, f"/tags/{gul.id}/", name="gull", group="story", key="q")
    assert [(each.name, each.group, each.key) for each in cast.kb04.tags.all()] == [("gull", "story", "q")]
    assert "net is a tag now" in post(cast.editor, "/tags/", name="net", group="")
    net = cast.kb04.tags.get(name="net")
    assert "1 tag moved" in post(cast.editor, "/tags/merge/", tag=[net.id], group="kind", move="yes")
    assert "Choose the tag that they become" in post(cast.editor, "/tags/merge/", tag=[net.id], into="", merge="yes")
    page = post(cast.editor, "/tags/merge/", tag=[gul.id, net.id], into=net.id, merge="yes")
    assert "gull became net, on 1 select." in page and "was gul, gull" in page
    spare = post(cast.editor, "/tags/", name="spare") and cast.kb04.tags.get(name="spare")
    assert "spare is removed" in post(cast.editor, f"/tags/{spare.id}/", remove="yes")


def test_somebody_who_may_not_tidy_sees_the_words_only(cast, a_clip):
    selecting.put(cast.logger, uuid.uuid4(), a_clip, Mark(0, 11, ("gull",)), 0)
    page = see(cast.logger, "/tags/?production=KB04")
    assert 'data-word="gull"' in page and "Merge the ticked" not in page and "edit=" not in page
