"""What a list's page says of its rows, its exports and itself; on paper, too."""

import uuid

import pytest

from review.desk import arranging, exporting, lists
from review.exports import ExportOptions
from review.marking import selecting
from review.marking.selecting import Mark
from review.models import Activity
from tests.conftest import browser_of, see


@pytest.fixture
def mark(cast, make_clip):
    clip = make_clip(frames=250)

    def make(in_frame: int, out_frame: int):
        return selecting.put(cast.logger, uuid.uuid4(), clip, Mark(in_frame, out_frame), 0).id

    return make


def test_a_trim_and_the_handles_are_told_apart(cast, mark):
    made = lists.make(cast.editor, cast.kb04, "Harbour", [mark(25, 100), mark(150, 200)])
    made, _ = arranging.trim(cast.editor, made, 1, made.entries.first().select_id, 50, 100)
    lists.settle(cast.editor, made, 2, handles=1000)
    trimmed = "Trimmed here to 10:00:02:00 – 10:00:04:00, without the handles; marked 10:00:01:00 – 10:00:04:00."
    for address in (f"/lists/{made.id}/", f"/lists/{made.id}/print/"):
        page = see(cast.editor, address)
        assert trimmed in page and page.count("handles 25 + 25") == 2 and "with handles of 1 s" in page
        assert "10:00:01:00<br>10:00:05:00<br><small" in page  # what goes out


def test_what_is_new_is_counted_and_marked_in_words(cast, mark):
    ids = [mark(0, 10), mark(20, 30), mark(40, 50)]
    made = lists.make(cast.editor, cast.kb04, "Harbour", ids[:2])
    exporting.export_by(cast.editor, made, "edl")
    lists.add(cast.editor, made, ids[2:])
    made, _ = arranging.trim(cast.editor, made, 2, ids[0], 0, 5)
    page = see(cast.editor, f"/lists/{made.id}/")
    assert "<b>1 new</b>, <b>1 cut otherwise</b> than you have it." in page
    assert page.count("cut otherwise than you have it") == page.count("new to you") - 1 == 1  # the form has it, too
    assert "new to you</p>" not in see(cast.producer, f"/lists/{made.id}/")  # who has pulled nothing


def test_how_an_export_was_made_is_told_in_words(cast, mark):
    made = lists.make(cast.editor, cast.kb04, "Harbour", [mark(0, 10)])
    exporting.export_by(cast.editor, made, "otio")
    assert "<td>as usual</td>" in see(cast.editor, f"/lists/{made.id}/")
    exporting.export_by(cast.editor, made, "csv", ExportOptions.read({"columns": "clip,section"}))
    page = see(cast.editor, f"/lists/{made.id}/")
    assert "<td>2 chosen columns</td>" in page and "CSV as last time: 2 chosen columns." in page
    assert "EDL as last time" not in page


def test_a_list_is_deleted_on_record_and_only_as_it_was_seen(cast, mark):
    made = lists.make(cast.editor, cast.kb04, "Harbour", [mark(0, 10)])
    address = f"/lists/{made.id}/delete/"
    lists.add(cast.producer, made, [mark(20, 30)])
    refused = browser_of(cast.editor).post(address, {"version": 1})
    assert refused.status_code == 400 and "Somebody changed this list" in refused.content.decode()
    assert browser_of(cast.media_manager).post(address, {"version": 2}).status_code == 403
    assert browser_of(cast.stranger).post(address, {"version": 2}).status_code == 404
    gone = browser_of(cast.editor).post(address, {"version": 2}, follow=True).content.decode()
    assert "The list “Harbour” is deleted; its selects stay." in gone
    assert Activity.objects.get(did="deleted").words == "the list “Harbour” of 2 selects, never exported"
    page = see(cast.editor, "/activity/?production=KB04")
    assert "never exported" in page and f"/lists/{made.id}/" not in page  # no way to what is gone


def test_a_list_that_something_was_taken_from_stays_and_says_why(cast, mark):
    for use, why in (("export", "every export is kept"), ("stringout", "A stringout was made of it")):
        made = lists.make(cast.editor, cast.kb04, use, [mark(0, 10)])
        if use == "export":
            exporting.export_by(cast.editor, made, "csv")
        else:
            made.stringouts.create(made_by=cast.editor, events=[], list_version=1)
        assert f"This list stays. {lists.why_kept(made)}" in see(cast.editor, f"/lists/{made.id}/")
        refused = browser_of(cast.editor).post(f"/lists/{made.id}/delete/", {"version": 1})
        assert (refused.status_code, why in refused.content.decode()) == (400, True)
    assert cast.kb04.lists.count() == 2
    assert "Delete this list" not in see(cast.media_manager, f"/lists/{made.id}/")


def test_the_printed_list_says_on_every_page_whose_it_is_and_when_it_was_printed(cast, mark):
    made = lists.make(cast.editor, cast.kb04, "Harbour", [mark(0, 10)])
    head = see(cast.editor, f"/lists/{made.id}/print/").split("<thead>")[1].split("</thead>")[0]
    assert f"KB04 {cast.kb04.title}: Harbour, printed " in head


def test_a_clip_leads_back_to_the_list_it_was_opened_from_if_it_may_be_seen(cast, mark, make_clip):
    made = lists.make(cast.editor, cast.kb04, "Harbour", [mark(20, 30)])
    entry = made.entries.get()
    address = f"/clips/{entry.select.clip_id}/?frame=20&list="
    back = f'href="/lists/{made.id}/#e-{entry.select_id}"'
    assert back in see(cast.logger, f"{address}{made.id}")
    assert f"?frame=20&amp;list={made.id}" in see(cast.logger, f"/lists/{made.id}/")
    for odd in ("", "x", "0", "9" * 30, "-1"):
        assert "List: back to" not in see(cast.logger, address + odd)
    arranging.take_out(cast.editor, made, 1, [entry.select_id])
    assert f'href="/lists/{made.id}/"' in see(cast.logger, f"{address}{made.id}")


def test_that_a_list_is_of_one_production_is_said_where_it_is_made(cast):
    for address in ("/lists/", f"/lists/{lists.make(cast.editor, cast.kb04, 'empty').id}/"):
        assert "of one production" in see(cast.editor, address)
