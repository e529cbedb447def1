"""The pages of splits and stints: what was typed stays, what was handed out stays so, what is left is counted."""

import re

from review.marking import taking_notes
from review.models import Split, Stint
from review.record import stints, stories
from review.team import planning
from tests.conftest import browser_of
from tests.seeing.test_coverage import see
from tests.splits import MINUTE, accept, plan


def page_of(person, address):
    """A page as one line of words and tags."""
    return " ".join(browser_of(person).get(address).content.decode().split())


def field(page, name):
    return re.search(rf'<input[^>]*name="{name}"[^>]*>', page).group()


def test_a_refused_plan_keeps_what_was_typed(cast, crew, shoot):
    stints.take(cast.editor, shoot["A12-1"])  # something happened: no sums of another test are remembered
    typed = {
        "hours:ilse": "6.25",
        "hours:bram": "30",
        "minutes_an_hour": "45",
        "days": ["2026-11-13"],
        "urgent_days": ["2026-11-12"],
        "cameras": ["A"],
        "seconds": "yes",
    }
    answer = browser_of(cast.producer).post("/splits/?production=KB04", typed)
    page = " ".join(answer.content.decode().split())
    assert answer.status_code == 400 and "bram cannot have 30 hours" in page
    assert 'value="6.25"' in field(page, "hours:ilse") and 'value="30"' in field(page, "hours:bram")
    assert 'value=""' in field(page, "hours:odd") and 'value="45"' in field(page, "minutes_an_hour")
    for chosen in (
        'name="days" value="2026-11-13"',
        'name="urgent_days" value="2026-11-12"',
        'name="cameras" value="A"',
    ):
        assert f"{chosen} checked" in page
    assert page.count(" checked") == 4 and "checked" in field(page, "seconds")
    assert not Split.objects.exists()


def test_who_was_away_in_the_last_split_is_told(cast, crew, shoot):
    assert "away in the last split" not in page_of(cast.producer, "/splits/?production=KB04")
    plan(cast, {"ilse": 7.25, "odd": 8, "logger": 1})
    page = page_of(cast.producer, "/splits/?production=KB04")
    assert page.count("away in the last split") == 1
    assert "away in the last split" in page.split(">bram</label>")[1].split("</tr>")[0]
    assert 'value="7.25"' in field(page, "hours:ilse") and 'value=""' in field(page, "hours:bram")


def test_stories_say_what_is_unwatched_of_them(cast, crew, shoot):
    lines = (
        "date,timecode,camera,text,tag\n2026-11-12,10:04:00:00,A,seen,the net\n2026-11-12,11:04:00:00,A,seen,the net\n"
    )
    taking_notes.take(cast.producer, cast.kb04, lines.encode())
    see(cast.editor, shoot["A12-0"], (0, MINUTE))
    assert stories.unwatched(cast.kb04) == {"the net": 19 * 60}
    assert "the net <small>19 min 00 s</small>" in page_of(cast.producer, "/splits/?production=KB04")


def test_an_accepted_split_is_shown_as_it_was_handed_out(cast, crew, shoot):
    split = plan(cast)
    stints.take(cast.editor, shoot["A12-1"])
    accept(cast, split)
    before = page_of(cast.producer, f"/splits/{split.id}/")
    assert "left out: editor holds it" in before
    assert re.search(r">nobody, or left out</th>.*?<b>10 min 00 s</b></td><td class=\"number\">1</td>", before)
    assert "even share" not in before and "Holds" not in before
    for stint in Stint.objects.filter(logger=crew["ilse"]):
        see(crew["ilse"], stint.clip, (0, 5 * MINUTE))
        stints.hand_back(crew["ilse"], stint)
    assert page_of(cast.producer, f"/splits/{split.id}/").split("<h1>")[1] == before.split("<h1>")[1]


def test_a_discarded_split_says_that_nobody_was_given_anything(cast, crew, shoot):
    split = plan(cast)
    planning.discard(cast.producer, split)
    page = page_of(cast.producer, f"/splits/{split.id}/")
    assert "discarded by producer" in page and "nobody was given anything" in page and "Would have got" in page


def test_a_proposal_tells_what_the_absent_keep_and_who_holds_each_piece(cast, crew, shoot):
    accept(cast, plan(cast, {"ilse": 8, "odd": 8}))
    see(crew["odd"], Stint.objects.filter(logger=crew["odd"]).first().clip, (0, MINUTE))
    page = page_of(cast.producer, f"/splits/{plan(cast, {'ilse': 8}, again=True).id}/")
    assert "<b>odd</b> has no hours and keeps 9 min 00 s that is begun: it is in no percentage." in page
    assert "Holds it now" in page and page.count("<td>odd</td>") == 5


def test_a_share_that_is_too_long_is_pointed_out_on_the_page_as_after_a_move(cast, crew, shoot):
    split = plan(cast)
    address = f"/splits/{split.id}/"
    assert ' far"' not in page_of(cast.producer, address)
    planning.move(cast.producer, split, 1, {split.pieces.filter(logger=crew["ilse"]).first().id: "bram"})
    assert page_of(cast.producer, address).count(' far"') == 1


def test_who_hands_out_is_told_what_was_left_out(cast, crew, shoot):
    split = plan(cast)
    stints.take(cast.editor, shoot["A12-1"])
    browser = browser_of(cast.producer)
    browser.post(f"/splits/{split.id}/accept/", {"version": 1})
    said = browser.get("/stints/?production=KB04").content.decode()
    assert "Left out, as it stays with who has it: KB04-261112-A01 A12-1 from 11:00:00:00 (editor holds it)." in said


def test_what_is_seen_whole_is_not_counted_with_what_is_left(cast, crew, shoot):
    for name in ("A12-0", "A12-1"):
        stints.take(crew["ilse"], shoot[name])
    assert "2 stretches, <b>20 min 00 s left</b> to watch." in page_of(crew["ilse"], "/stints/?production=KB04")
    see(crew["ilse"], shoot["A12-0"], (0, 10 * MINUTE))
    page = page_of(crew["ilse"], "/stints/?production=KB04")
    assert "1 stretch, <b>10 min 00 s left</b> to watch; 1 seen whole." in page
    see(crew["ilse"], shoot["A12-1"], (0, 10 * MINUTE))
    assert "2 stretches, seen whole: nothing is left to watch." in page_of(crew["ilse"], "/stints/?production=KB04")


def test_a_producer_is_told_from_whom_a_stretch_was_taken_back(cast, crew, shoot):
    stint = stints.take(crew["ilse"], shoot["A12-0"])
    browser = browser_of(cast.producer)
    browser.post(f"/stints/{stint.id}/hand-back/")
    said = browser.get("/stints/?production=KB04").content.decode()
    assert "of A12-0 is taken back from ilse: others can take what is left of it." in said
