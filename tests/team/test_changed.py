"""What changed for somebody since they last knew: as one, whatever came and went in between."""

from datetime import timedelta

from django.utils import timezone

from review.crew import people
from review.models import Stint
from review.record import stints
from review.team import holding
from review.team.changed import changed, know
from tests.conftest import browser_of
from tests.seeing.test_coverage import see
from tests.splits import MINUTE, accept, plan


def changes(person, production):
    return changed(person, production, holding.held(production, person))


def understood(person, production):
    told = changes(person, production)
    know(person, production, told.splits, told.stints)
    assert changes(person, production) is None


def names(parts):
    return sorted(part.stint.clip.name for part in parts)


def test_everybody_sees_what_changed_for_them(cast, crew, shoot):
    accept(cast, plan(cast, {"ilse": 8, "bram": 8, "odd": 8}))
    for person in crew.values():
        told = changes(person, cast.kb04)
        assert (len(told.came), told.seconds_came, told.went) == (4, 2400, [])
        understood(person, cast.kb04)
    again = plan(cast, again=True)
    accept(cast, again)
    lost = changes(crew["odd"], cast.kb04)
    assert (lost.by, lost.came, lost.seconds_went) == ([again], [], 2400)
    gained = [changes(crew[name], cast.kb04) for name in ("ilse", "bram")]
    assert sum(each.seconds_came for each in gained) == 2400
    assert all(each.went == [] for each in gained)  # what stays with somebody did not move


def test_what_came_went_and_came_again_is_told_once(cast, crew, shoot):
    wanted = {"cards": ["KB04-261112-A01"]}
    accept(cast, plan(cast, {"ilse": 8}, **wanted))
    accept(cast, plan(cast, {"bram": 8}, again=True, **wanted))
    assert changes(crew["ilse"], cast.kb04) is None  # it came and went: nothing is different
    accept(cast, plan(cast, {"ilse": 8}, again=True, **wanted))
    told = changes(crew["ilse"], cast.kb04)
    assert (names(told.came), told.went, len(told.by)) == (["A12-0", "A12-1", "A12-2"], [], 1)
    understood(crew["ilse"], cast.kb04)
    accept(cast, plan(cast, {"bram": 8}, again=True, **wanted))
    accept(cast, plan(cast, {"ilse": 8}, again=True, **wanted))
    assert changes(crew["ilse"], cast.kb04) is None  # it went and came: she has what she had


def test_what_came_is_as_long_as_what_is_left_to_watch_of_it(cast, crew, shoot):
    see(cast.editor, shoot["A12-0"], (MINUTE, 2 * MINUTE))
    accept(cast, plan(cast, {"ilse": 8}, cards=["KB04-261112-A01"]))
    assert changes(crew["ilse"], cast.kb04).seconds_came == 29 * 60
    see(cast.editor, shoot["A12-1"], (0, 10 * MINUTE))
    assert changes(crew["ilse"], cast.kb04).seconds_came == 19 * 60


def test_that_the_begun_stays_is_said_only_to_who_has_begun_something(cast, crew, shoot):
    accept(cast, plan(cast, {"odd": 8, "ilse": 8}))
    for name in ("odd", "ilse"):
        understood(crew[name], cast.kb04)
    see(crew["odd"], Stint.objects.filter(logger=crew["odd"]).first().clip, (0, MINUTE))
    accept(cast, plan(cast, {"bram": 8}, again=True))
    assert changes(crew["odd"], cast.kb04).keeps_begun
    assert not changes(crew["ilse"], cast.kb04).keeps_begun


def test_who_loses_a_stretch_otherwise_than_by_a_split_is_told(cast, crew, shoot):
    mine = [stints.take(crew["ilse"], shoot[f"A12-{at}"]) for at in range(3)]
    stints.hand_back(crew["ilse"], mine[0])  # she knows that herself
    assert changes(crew["ilse"], cast.kb04) is None
    stints.hand_back(cast.producer, mine[1])
    Stint.objects.filter(id=mine[2].id).update(touched_at=timezone.now() - timedelta(days=9))
    stints.take(crew["bram"], shoot["A12-2"])
    told = changes(crew["ilse"], cast.kb04)
    assert {part.stint.clip.name: part.stint.ended_why for part in told.went} == {
        "A12-1": "taken back by producer",
        "A12-2": "it rested, and bram took it on",
    }
    assert (told.seconds_went, told.came, told.by, told.keeps_begun) == (1200, [], [], False)
    understood(crew["ilse"], cast.kb04)


def test_who_is_brought_back_sees_what_was_freed(cast, crew, shoot):
    stints.take(crew["ilse"], shoot["A12-0"])
    people.stop_by(cast.owner, crew["ilse"])
    people.bring_back_by(cast.owner, crew["ilse"])
    (part,) = changes(crew["ilse"], cast.kb04).went
    assert part.stint.ended_why == "the sign-in was stopped"


def test_what_came_since_the_page_was_shown_is_not_understood_with_it(cast, crew, shoot):
    accept(cast, plan(cast, {"ilse": 8}, cards=["KB04-261112-A01"]))
    shown = changes(crew["ilse"], cast.kb04)
    accept(cast, plan(cast, {"ilse": 8}, cards=["KB04-261112-B01"]))
    know(crew["ilse"], cast.kb04, shown.splits, shown.stints)
    assert names(changes(crew["ilse"], cast.kb04).came) == ["B12-0", "B12-1", "B12-2"]


def test_nobody_says_for_others_that_they_know(cast, crew, shoot):
    stint = stints.take(crew["ilse"], shoot["A12-0"])
    stints.hand_back(cast.producer, stint)
    know(crew["bram"], cast.kb04, [], [stint.id])
    assert changes(crew["ilse"], cast.kb04).went


def test_the_page_tells_it_in_one_notice_with_one_button(cast, crew, shoot):
    stints.take(crew["ilse"], shoot["B12-0"])
    stints.hand_back(cast.producer, Stint.objects.get())
    accept(cast, plan(cast, {"ilse": 8}, cards=["KB04-261112-A01"]))
    accept(cast, plan(cast, {"ilse": 8}, cards=["KB04-261113-A01"]))
    browser = browser_of(crew["ilse"])
    page = browser.get("/stints/?production=KB04").content.decode()
    assert page.count("What changed for you</h2>") + page.count("What changed for you <small>") == 1
    assert "You got 6 stretches, 1 h 00 min left to watch:" in page
    assert "1 stretch went from you, 10 min 00 s long:" in page and "(taken back by producer)" in page
    assert "is still yours" not in page
    told = changes(crew["ilse"], cast.kb04)
    form = {"splits": ",".join(map(str, told.splits)), "stints": ",".join(map(str, told.stints))}
    assert browser.post("/stints/understood/?production=KB04", form).status_code == 302
    assert "What changed for you" not in browser.get("/stints/?production=KB04").content.decode()
    for odd, status in (("x", 400), ("9" * 30, 400), (",".join(["7"] * 300_000), 302)):
        assert browser.post("/stints/understood/?production=KB04", {"splits": odd}).status_code == status
