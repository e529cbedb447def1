"""The pages of a team ask the database as often for much footage as for little, and say the same numbers."""

from datetime import date, timedelta

import pytest
from django.db import connection
from django.db.models import F
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from review.crew import activity
from review.marking import selecting
from review.models import FieldNote, WorkedSlot
from review.record import coverage, field_notes, stints, story_footage
from review.seeing.coverage_asked import Asked
from review.seeing.coverage_tables import table
from review.team import holding, second_looks
from tests.conftest import browser_of
from tests.seeing.test_coverage import see

THE_12TH = date(2026, 11, 12)
COVERAGE = ("/coverage/", "/coverage/?by=story", "/coverage/?by=logger")
PAGES = (*COVERAGE, "/stints/", "/splits/", "/days/", "/second-looks/")


def note(cast, number: int, seconds: int, tag: str, camera: str = "") -> FieldNote:
    return FieldNote.objects.create(
        production=cast.kb04, day=THE_12TH, timecode="10:00:00:00", at=seconds * 1_000_000, camera=camera, text="gulls",
        tag=tag, digest=str(number), taken_by=cast.logger,
    )  # fmt: skip


@pytest.fixture
def shoot(cast, make_clip):
    """Makes clips, each of a card of its own, that are held, partly watched, skimmed, marked and noted."""

    def make(many: int, first: int):
        for at in range(first, first + many):
            clip = make_clip(f"C{at}", card=f"KB04-261112-A{at:02}", frames=2500, start=f"10:{at:02}:00:00")
            stints.take(cast.logger, clip, 0, 2000)
            see(cast.logger, clip, (0, 500), (1500, 1800))
            see(cast.editor, clip, (400, 900))
            see(cast.editor, clip, (1900, 2200), speed=4)
            second_looks.ask(cast.producer, clip, 0, 600)
            selecting.put(cast.logger, selecting.uuid.uuid4(), clip, selecting.Mark(10, 20, ("gull",)), 0)
            note(cast, at, 36_000 + 60 * at + 30, "net")

    return make


def something_new(cast) -> None:
    activity.happened(cast.kb04, cast.producer, "changed", "something", activity.About.PRODUCTION)
    slot, _ = WorkedSlot.objects.get_or_create(
        production=cast.kb04, person=cast.logger, began=timezone.now() - timedelta(minutes=1)
    )
    WorkedSlot.objects.filter(id=slot.id).update(shown=F("shown") + 25)


def queries(cast) -> dict[str, int]:
    browser, found = browser_of(cast.producer), {}
    for address in PAGES:
        something_new(cast)  # or what is remembered would be counted as asking nothing
        with CaptureQueriesContext(connection) as asked:
            answer = browser.get(address, {"production": "KB04"}) if "?" not in address else browser.get(address)
        assert answer.status_code == 200, address
        found[address] = len(asked)
    return found


def test_as_many_questions_for_much_as_for_little(cast, shoot):
    shoot(2, 1)
    queries(cast)  # what is asked once for a session
    few = queries(cast)
    shoot(8, 10)
    queries(cast)
    assert queries(cast) == few


def test_what_is_left_of_stints_is_what_no_range_covers(cast, shoot):
    shoot(3, 1)
    everything = holding.held(cast.kb04)
    assert [each.left for each in everything] == [[(900, 1500), (1800, 1900)]] * 3
    assert holding.seconds_of(everything, lambda each: each.frames_left) == 3 * 700 / 25
    # Of 2,500 frames of each clip, 1,300 and 300 were watched or skimmed, and of the others 300 are nobody's.
    assert holding.unassigned_seconds(cast.kb04, everything) == 3 * 300 / 25


def test_rows_of_stories_hold_what_their_clips_hold(cast, shoot):
    shoot(3, 1)
    made = table(cast.kb04, Asked(by="story"))
    whole = coverage.total(coverage.by_card(cast.kb04).values())
    assert made.total == whole and [row.name for row in made.rows] == ["gull", "net"]
    assert all(row.coverage == whole for row in made.rows) and made.shared == 3
    assert story_footage.clips_of(cast.kb04, "GULL") == set(story_footage.by_story(cast.kb04)["gull"])
    one = table(cast.kb04, Asked(by="story", card="KB04-261112-A02"))
    assert one.total == coverage.by_card(cast.kb04)[cast.kb04.cards.get(name="KB04-261112-A02")]


def test_remembered_rows_say_what_was_seen_since(cast, shoot):
    shoot(2, 1)
    before = table(cast.kb04, Asked(), people=False).total
    clip = cast.kb04.cards.first().clips.get()
    see(cast.editor, clip, (900, 1000))
    after = table(cast.kb04, Asked(), people=False).total
    assert after.watched - before.watched == 4 and after.shot == before.shot
    assert after == coverage.total(coverage.by_card(cast.kb04, people=False).values())


def test_what_is_asked_of_second_looks_is_what_the_coverage_says(cast, shoot):
    shoot(2, 1)
    told, whole = second_looks.total(cast.kb04), coverage.total(coverage.by_card(cast.kb04).values())
    assert (told.asked, told.twice) == (whole.asked, whole.twice) == (2 * 600 / 25, 2 * 100 / 25)


def test_a_days_notes_without_footage_are_counted_as_they_are_listed(cast, make_clip):
    make_clip("A1", frames=250, start="10:00:00:00")
    make_clip("B1", card="KB04-261112-B01", frames=250, start="23:59:55:00")  # goes on past midnight
    make_clip("B0", card="KB04-261111-B01", frames=250, start="23:59:55:00")
    for number, (at, camera) in enumerate(
        [(36_000, ""), (36_009, "A"), (36_010, ""), (36_005, "B"), (86_399, "B"), (0, "B"), (4, ""), (5, ""), (7, "C")]
    ):
        note(cast, number, at, "", camera)
    notes = cast.kb04.field_notes.filter(day=THE_12TH)
    lost = field_notes.without_footage(cast.kb04, notes)
    assert field_notes.counted(cast.kb04, THE_12TH) == (9, len(lost)) == (9, 4)
    one_by_one, at_once = field_notes.Rolling(cast.kb04), field_notes.rolling(cast.kb04, notes)
    assert [at_once[each.id] for each in notes] == [one_by_one.of(each) for each in notes]
