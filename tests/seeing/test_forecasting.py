"""The forecast page and API, from rows: what is left and coming, and what is said when too little is on record."""

from datetime import date, timedelta

import pytest
from django.utils import timezone

from review.crew import people
from review.models import Clip, WorkedSlot
from review.refusals import NotAllowed, Refusal
from review.seeing import forecasting
from review.seeing.forecasting import Question
from review.team import second_looks
from tests.conftest import api_of, browser_of

HOUR = 25 * 3600


@pytest.fixture
def shoot(cast, make_clip):
    """A hundred hours: sixty of camera A, of which ten are watched and two skimmed, and forty of camera C."""
    make_clip("A1", card="KB04-261112-A01", frames=60 * HOUR, watched_frames=10 * HOUR, skimmed_frames=2 * HOUR)
    make_clip("C1", card="KB04-261113-C01", frames=40 * HOUR)
    make_clip("H1", card="KB04-261113-A02", frames=99 * HOUR, state="held")


def work(person, production, days=range(1, 8), slots=48, camera="A", pace=1.0):
    """So many slots of five minutes on each of the last days, at so many hours of footage an hour."""
    noon = timezone.now().replace(hour=6, minute=0, second=0, microsecond=0)
    fresh = int(pace * 300_000_000)
    WorkedSlot.objects.bulk_create(
        WorkedSlot(
            production=production,
            person=person,
            began=noon - timedelta(days=day) + timedelta(minutes=5 * slot),
            camera=camera,
            shown=fresh,
            fresh_watched=fresh,
        )
        for day in days
        for slot in range(slots)
    )


def ask(cast, **query):
    return forecasting.answer(cast.kb04, Question.read({name: str(value) for name, value in query.items()}))


def test_it_works(cast, shoot):
    """Two loggers, four hours a day each, in real time: 88 hours are eleven days."""
    for person in (cast.logger, cast.editor):
        work(person, cast.kb04)
    answer = ask(cast)
    assert answer.left == {"A": 48.0, "C": 40.0}
    assert answer.told.likely == answer.today + timedelta(11)
    assert {hand.name: hand.hours for hand in answer.told.team.hands} == pytest.approx({"editor": 4, "logger": 4})


def test_what_if(cast, shoot):
    for person in (cast.logger, cast.editor):
        work(person, cast.kb04)
    today = ask(cast).today
    assert ask(cast, loggers=2).told.likely == today + timedelta(6)  # 88 hours at 16 a day
    assert ask(cast, hours=1).told.likely == today + timedelta(9)  # at ten
    assert ask(cast, skim="c").told.likely == today + timedelta(8)  # 48 hours, and 40 that go four times as fast
    assert ask(cast, again="yes").told.likely == today + timedelta(12)  # 90 hours
    assert ask(cast, again="yes").usual.likely == today + timedelta(11)
    assert ask(cast, by=today + timedelta(6)).needed == 4
    assert ask(cast, by=today).needed is None


def test_who_cannot_sign_in_any_more_is_not_reckoned_with_and_stays_on_record(cast, shoot):
    for person in (cast.logger, cast.editor, cast.media_manager):
        work(person, cast.kb04)
    people.stop_by(cast.owner, cast.editor)
    people.remove_member_by(cast.owner, cast.media_manager.memberships.get())
    answer = ask(cast)
    assert answer.stopped == ["editor", "media-manager"]
    assert [hand.name for hand in answer.told.team.hands] == ["logger"]
    assert answer.told.likely == answer.told.early == answer.told.late == answer.today + timedelta(22)
    assert answer.hours_on_record == pytest.approx(3 * 28)
    page = browser_of(cast.producer).get("/forecast/").content.decode()
    assert "cannot sign in any more, or have no role here: editor, media-manager." in page
    people.bring_back_by(cast.owner, cast.editor)
    assert ask(cast).told.people == 2


def test_what_if_somebody_were_not_there(cast, shoot):
    for person in (cast.logger, cast.editor):
        work(person, cast.kb04)
    answer = ask(cast, without="editor")
    assert [hand.name for hand in answer.told.team.hands] == ["logger"]
    assert (answer.told.likely, answer.usual.likely) == (answer.today + timedelta(22), answer.today + timedelta(11))
    assert ask(cast).told.likely == answer.today + timedelta(11)  # what was asked is not remembered for others
    page = browser_of(cast.producer).get("/forecast/?without=editor").content.decode()
    assert 'name="without" value="editor" checked' in page and 'name="without" value="logger">' in page
    with pytest.raises(Refusal, match="'ilse' is nobody whose work is on record"):
        ask(cast, without="ilse")


def test_the_days_that_are_shown_lead_to_the_date_that_is_told(cast, make_clip):
    """28.1 hours at four a day are 7.02 days: one more than seven."""
    make_clip("A1", frames=28 * HOUR + HOUR // 10)
    work(cast.logger, cast.kb04)
    answer = ask(cast)
    assert answer.told.likely == answer.today + timedelta(8)
    whole = browser_of(cast.producer).get("/forecast/").content.decode().split("<tfoot>")[1].split("</tfoot>")[0]
    assert "<b>7.1</b>" in whole


def test_what_shooting_piles_up_stands_by_the_date(cast, shoot):
    work(cast.logger, cast.kb04)
    last = ask(cast).today + timedelta(10)
    forecasting.set_shooting(cast.producer, cast.kb04, str(last), "480")
    cast.kb04.refresh_from_db()
    answer = ask(cast)
    # 22 days of work now; two more each day, of which one is done: 32 on the last evening.
    assert answer.told.coming == pytest.approx(2) and answer.told.piled == pytest.approx(32)
    assert answer.told.likely == last + timedelta(32)
    answered, worked_out = browser_of(cast.producer).get("/forecast/").content.decode().split("What if…")
    assert "Each day of it brings 2.0 days of this team’s work; on its last evening 32.0 are left." in answered
    assert "Left on the last evening of shooting" in worked_out and "<b>32.0</b>" in worked_out


def test_second_looks_count_once_more(cast, shoot):
    second_looks.ask(cast.producer, Clip.objects.get(name="C1"), 0, 8 * HOUR)
    work(cast.logger, cast.kb04)
    answer = ask(cast)
    assert answer.second == {"C": 8.0}
    assert answer.told.days == pytest.approx((88 + 8) / 4)


def test_the_page_adds_up_what_is_left_and_second_looks_apart(cast, shoot):
    second_looks.ask(cast.producer, Clip.objects.get(name="C1"), 0, 8 * HOUR)
    work(cast.logger, cast.kb04)
    page = browser_of(cast.producer).get("/forecast/").content.decode()
    assert "96 h 00 min left to be seen: 88 h 00 min that nobody has seen, and 8 h 00 min of second looks" in page
    whole = page.split('<tfoot><tr><th scope="row">All</th>')[1].split("</tfoot>")[0]
    assert '<td class="number">88 h 00 min</td><td class="number">8 h 00 min</td>' in whole
    assert "is little for" not in page


def test_a_pace_that_reads_like_a_mistake_is_explained(cast, shoot):
    work(cast.logger, cast.kb04, pace=0.05)  # three minutes of new footage an hour, 28 hours long
    page = browser_of(cast.producer).get("/forecast/").content.decode()
    assert "1 h 24 min of new footage is little for 28 h 00 min of work" in page


def test_what_is_still_being_shot(cast, shoot):
    work(cast.logger, cast.kb04, slots=120)
    assert ask(cast).coming.a_day == {"A": 30.0, "C": 20.0}  # so far: a hundred hours in two days
    forecasting.set_shooting(cast.producer, cast.kb04, str(ask(cast).today + timedelta(2)), "300")
    answer = ask(cast)
    assert answer.coming.a_day == {"A": 3.0, "C": 2.0}
    # Ten hours a day: 88 and twice five are 98, the last of them on the tenth day.
    assert answer.told.likely == answer.today + timedelta(10)
    forecasting.set_shooting(cast.producer, cast.kb04, "", "")
    cast.kb04.refresh_from_db()
    assert (cast.kb04.shoot_until, cast.kb04.shot_a_day) == (None, None)


def test_too_little_on_record_is_said_with_what_there_is(cast, shoot):
    work(cast.logger, cast.kb04, days=[1], slots=36)
    assert ask(cast).told is None
    page = browser_of(cast.producer).get("/forecast/").content.decode()
    assert "3 h 00 min of work on 1 day is on record before today; that is too little to tell a date from" in page
    assert api_of(cast.producer).get("/api/v1/forecast/", {"production": "KB04"}).json()["too_little"] is True


def test_an_assumed_team_needs_no_record(cast, shoot):
    """88 hours at real time and 40 hours a week: two people have them done in eight days."""
    told = ask(cast, people=2, week=40, speed=1).told
    assert told.likely == ask(cast).today + timedelta(8)
    page = browser_of(cast.producer).get("/forecast/?people=2&week=40&speed=1").content.decode()
    assert "If 2 people work 40 hours a week and each see 1 hour of footage an hour" in page
    assert "not from the record" in page
    assert "The range:" not in page and "Skimming" not in page and "slots of five minutes" not in page


def test_the_page_and_the_api_say_the_same(cast, shoot):
    work(cast.logger, cast.kb04)
    told = api_of(cast.producer).get("/api/v1/forecast/", {"production": "KB04", "loggers": 1, "skim": "A,C"}).json()
    page = browser_of(cast.producer).get("/forecast/?loggers=1&skim=A&skim=C").content.decode()
    likely = date.fromisoformat(told["likely"])
    assert f"Most likely by {likely:%A} {likely.day} {likely:%B %Y}" in page
    assert told["people"] == 2 and told["loggers"][0] == {
        "name": "logger",
        "hours_on_record": pytest.approx(28),
        "hours_a_day": pytest.approx(4),
        "pace": pytest.approx(1),
    }


def test_when_nothing_is_left_it_says_so(cast):
    assert "Everything that is here has been seen" in browser_of(cast.producer).get("/forecast/").content.decode()


@pytest.mark.parametrize(
    ("query", "words"),
    [
        ({"week": "169"}, "week is a number from 0.1 to 168 (a week has no more)"),
        ({"people": "0"}, "people is a whole number from 1 to 1000"),
        ({"loggers": "2.5"}, "loggers is a whole number"),
        ({"hours": "nan"}, "hours is a number from -24 to 24"),
        ({"speed": "1e9"}, "speed is a number"),
        ({"by": "soon"}, "is not a date; write it as 2026-11-12"),
    ],
)
def test_what_cannot_be_is_refused_in_words(cast, query, words):
    with pytest.raises(Refusal) as refused:
        Question.read(query)
    assert words in refused.value.message
    assert browser_of(cast.producer).get("/forecast/", query).status_code == 400
    assert api_of(cast.producer).get("/api/v1/forecast/", {"production": "KB04", **query}).status_code == 400


def test_who_may_not_say_how_much_is_shot(cast):
    with pytest.raises(NotAllowed, match="a producer or an owner"):
        forecasting.set_shooting(cast.logger, cast.kb04, "2026-12-01", "")
    with pytest.raises(Refusal, match="is not a date"):
        forecasting.set_shooting(cast.producer, cast.kb04, "tomorrow", "")
    with pytest.raises(Refusal, match="shot_a_day is a whole number from 0"):
        forecasting.set_shooting(cast.producer, cast.kb04, "", "-1")
