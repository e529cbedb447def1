"""The pages of days and of what happened, empty and full."""

import json
import re
import uuid
from datetime import timedelta

import pytest
from django.utils import timezone

from review.crew import activity
from review.management.demo_days import clock_at
from review.marking import selecting, taking_notes
from review.marking.selecting import Mark
from review.models import Card, Person, Piece, Split
from review.record import stints
from tests.conftest import browser_of, see


def test_they_work_before_there_is_anything(cast):
    assert "No footage yet" in see(cast.logger, "/days/")
    assert "Nothing has happened yet" in see(cast.logger, "/activity/")


def test_the_days_page_lists_the_clips_of_a_day(cast, make_clip):
    make_clip("A1")
    make_clip("N1", card="KB04-261113-B01")
    make_clip("BLIND", card="KB04-261113-B01", timecode_source="")
    make_clip("H1", card="KB04-261113-C01", state=Card.State.HELD)
    taking_notes.take(cast.owner, cast.kb04, b"date,timecode,text\n2026-11-13,12:00:00:00,nobody shot this\n")
    page = see(cast.logger, "/days/")  # the last day
    assert "N1</a>" in page and "A1</a>" not in page
    assert "Without a time of day <small>1</small>" in page and "BLIND</a>" in page
    assert "Not on the map, because they cannot be trusted yet" in page and "1 with no footage" in page
    facts = json.loads(re.search(r'<script id="facts"[^>]*>(.*?)</script>', page, re.DOTALL)[1])
    assert (facts["days"], facts["day"], facts["cameras"]) == (["2026-11-12", "2026-11-13"], "2026-11-13", ["A", "B"])
    assert "A1</a>" in see(cast.logger, "/days/?day=2026-11-12&page=9")
    assert "N1</a>" in see(cast.logger, "/days/?day=never")


def test_the_list_has_the_field_notes_between_the_clips(cast, make_clip):
    clip = make_clip("A1", frames=250)
    make_clip("B1", card="KB04-261112-B01", start="11:00:00:00")
    told = b"date,timecode,camera,text\n"
    told += b"2026-11-12,10:00:02:00,,a gull lands\n2026-11-12,10:30:00:00,B,<b>the ferry</b>\n"
    taking_notes.take(cast.owner, cast.kb04, told)
    rows = see(cast.logger, "/days/?day=2026-11-12").split("<tbody>")[1].split("</tbody>")[0].split("</tr>")
    words = ("A1</a>", "a gull lands", "&lt;b&gt;the ferry", "B1</a>")
    assert [word in row for word, row in zip(words, rows, strict=False)] == [True] * 4
    assert f'href="/clips/{clip.id}/?frame=50">KB04-261112-A01 · A1 at 10:00:02:00</a>' in rows[1]
    assert "with no footage" in rows[2] and "with no footage" not in rows[1]


def test_a_day_of_notes_before_any_clip_lists_them(cast, make_clip):
    make_clip("BLIND", timecode_source="")
    taking_notes.take(cast.owner, cast.kb04, b"date,timecode,text\n2026-11-12,12:00:00:00,nobody shot this\n")
    assert "nobody shot this" in see(cast.logger, "/days/?day=2026-11-12")


def test_clips_without_a_date_are_said(cast, a_clip):
    Card.objects.update(shoot_date=None)
    assert "1 clip is on cards whose name gives no date" in see(cast.logger, "/days/")


def test_what_happened_leads_to_the_frame(cast, a_clip):
    selecting.put(cast.logger, uuid.uuid4(), a_clip, Mark(7, 20, ("<b>gull</b>",)), 0)
    activity.to_card(a_clip.card, None, "held", ": a fault")
    page = see(cast.producer, "/activity/")
    assert f'href="/clips/{a_clip.id}/?frame=7"' in page and f'href="/cards/{a_clip.card_id}/"' in page
    assert "&lt;b&gt;gull" in page and "<b>gull" not in page
    assert "held" not in see(cast.producer, "/activity/?person=logger").split("<tbody>")[1]
    assert "Nothing that fits happened" in see(cast.producer, "/activity/?text=whale")
    assert "is no date; write it as 2026-11-12" in see(cast.producer, "/activity/?day=soon", status=400)


def test_it_goes_on_page_by_page_without_a_row_twice(cast):
    for number in range(230):
        activity.happened(cast.kb04, None, "said", f"number {number}.", activity.About.CARD)
    seen, address = [], "/activity/"
    while address:
        page = see(cast.producer, address)
        seen += re.findall(r"number (\d+)\.", page)
        more = re.search(r'href="(\?[^"]*before=\d+)"', page)
        address = more and f"/activity/{more[1]}"
    assert [int(each) for each in seen] == list(range(229, -1, -1))


def test_what_was_written_with_an_earlier_clock_stands_at_its_time(cast):
    now = timezone.now()
    for number, ago in enumerate([0, 5, 3, 4, 1, 2] * 40):
        with clock_at(now - timedelta(days=ago, seconds=number)):
            activity.happened(cast.kb04, None, "said", f"{ago * 1000 + number}.", activity.About.CARD)
    seen, address = [], "/activity/"
    while address:
        page = see(cast.producer, address)
        seen += [int(each) for each in re.findall(r"</b> (\d+)\.", page)]
        more = re.search(r'href="(\?[^"]*before=\d+)"', page)
        address = more and f"/activity/{more[1]}"
    assert len(seen) == 240 and seen == sorted(seen)


def test_an_accepted_split_leads_to_it_and_names_who_got_something(cast, make_clip):
    clip = make_clip(frames=1500)
    made = Split.objects.create(production=cast.kb04, made_by=cast.producer, wanted={})
    for person, start in ((cast.logger, 0), (cast.editor, 750)):
        Piece.objects.create(split=made, clip=clip, in_frame=start, out_frame=start + 750, logger=person)
    said = f"split {made.id}: 2 stretches to 2 people"
    activity.happened(cast.kb04, cast.producer, "accepted", said, activity.About.PRODUCTION, "KB04")
    activity.happened(cast.kb04, cast.producer, "accepted", "split 99999: of long ago", activity.About.PRODUCTION)
    for address in ("/activity/", "/activity/?about=stint"):
        page = see(cast.producer, address)
        assert f'<a href="/splits/{made.id}/">{said}</a> <span class="faint">editor, logger</span>' in page
        assert "<b>accepted</b> split 99999: of long ago" in page


@pytest.mark.parametrize("before", ["abc", "9" * 40, "-1", "٣", "%00"])
def test_a_page_that_is_none_is_the_first(cast, a_clip, before):
    activity.to_card(a_clip.card, None, "held")
    assert "<tbody>" in see(cast.producer, f"/activity/?before={before}")


def test_an_owner_stops_a_sign_in_and_opens_it_again(cast, make_clip):
    for number in (1, 2):
        stints.take(cast.logger, make_clip(f"A{number}"))
    member = cast.kb04.memberships.get(person=cast.logger)
    browser = browser_of(cast.owner)
    page = browser.get("/people/").content.decode()  # it is asked first, with what it does to their stints
    assert "logger holds 2 stints: they are free at once" in page and "editor holds no stint." in page
    said = browser.post(f"/people/{member.id}/stop/", follow=True).content.decode()
    assert "logger cannot sign in any more" in said and "<b>stopped</b>" in said
    said = browser.post(f"/people/{member.id}/bring-back/", follow=True).content.decode()
    assert "logger may sign in again" in said and Person.objects.get(username="logger").is_active
    happened = see(cast.owner, "/activity/?about=people")
    assert "<b>stopped the sign-in of</b> logger" in happened and "<b>brought back</b> logger" in happened


def test_a_stopped_person_is_turned_away_at_the_door(cast):
    member = cast.kb04.memberships.get(person=cast.logger)
    browser_of(cast.owner).post(f"/people/{member.id}/stop/")
    browser = browser_of(None)
    told = browser.post("/sign-in/", {"username": "logger", "password": "a-good-password"})
    assert told.status_code == 200 and "_auth_user_id" not in browser.session
