"""Every page, empty and full; what people write is shown as text, never as markup; refusals are pages in words."""

import json
import re
import uuid
from html import unescape

import pytest

from review import roles
from review.cards.names import parse_card_name
from review.crew import people
from review.custody import intake
from review.desk import lists
from review.marking import selecting
from review.models import Card, Job, Membership, SelectsList
from review.pages import cards as pages_cards
from tests.conftest import PASSWORD, browser_of, check, film, see, work_off

PAGES = ("/cards/", "/selects/", "/lists/", "/coverage/", "/people/", "/password/", "/clips/next/")


# With and without content ----------------------------------------------------------------------


@pytest.mark.parametrize("address", PAGES)
def test_a_page_works_before_there_is_anything(cast, address):
    assert "<h1" in see(cast.owner, address)


@pytest.mark.parametrize("address", PAGES)
def test_a_page_works_when_there_is_something(cast, full, address):
    assert "<h1" in see(cast.owner, address) or address == "/clips/next/"


def test_cards_are_shown_by_whole_days_the_latest_first(cast, monkeypatch):
    monkeypatch.setattr(pages_cards, "A_PAGE", 3)
    for day in (10, 11, 12):
        for number in (1, 2):
            card(cast, f"KB04-2611{day}-A0{number}")
    card(cast, "KB04-261109-A01", shoot_date=None)
    page = see(cast.producer, "/cards/")
    assert _cards(page) == ["KB04-261112-A01", "KB04-261112-A02", "KB04-261109-A01"] and "page 2 of 2" in page
    earlier = [f"KB04-2611{day}-A0{number}" for day in (10, 11) for number in (1, 2)]
    assert _cards(see(cast.producer, "/cards/?page=1")) == earlier
    assert _cards(see(cast.producer, "/cards/?page=nonsense")) == earlier


def test_cards_of_one_state_are_shown_alone(cast):
    card(cast, "KB04-261112-A01", proof=Card.Proof.CHECKSUMS)
    card(cast, "KB04-261112-A02")
    card(cast, "KB04-261112-A03", state=Card.State.HELD)
    card(cast, "KB04-261112-A04", state=Card.State.ACCEPTED)
    card(cast, "KB04-261112-A05", state=Card.State.FOUND)
    card(cast, "KB04-261112-A06", state=Card.State.CHECKING)
    assert len(_cards(see(cast.producer, "/cards/"))) == 6
    page = see(cast.producer, "/cards/?state=unchecked")
    assert _cards(page) == ["KB04-261112-A05", "KB04-261112-A06"] and "2 cards not checked yet" in page
    for state, name in (("unproven", "A02"), ("held", "A03"), ("accepted", "A04")):
        page = see(cast.producer, f"/cards/?state={state}")
        assert _cards(page) == [f"KB04-261112-{name}"]
        assert "1 card not proven" in page and "1 accepted by a person" in page and "1 card held" in page
    assert len(_cards(see(cast.producer, "/cards/?state=nonsense"))) == 6
    Card.objects.filter(state=Card.State.HELD).delete()
    assert "There are none." in see(cast.producer, "/cards/?state=held")


def card(cast, name: str, **facts) -> Card:
    read = parse_card_name(name)
    rest = {"folder": f"/nowhere/{name}", "reel": name[-8:].replace("-", ""), "shoot_date": read.shoot_date}
    usual = {"camera": read.camera, "number": read.number, "state": Card.State.VERIFIED, "proof": Card.Proof.NONE}
    return cast.kb04.cards.create(name=name, **(rest | usual | facts))


def _cards(page: str) -> list[str]:
    return re.findall(r'data-card="\d+" data-name="([^"]+)"', page)


def test_the_cards_page_shows_state_and_what_to_do(cast, full, root):
    (root / "whose is this").mkdir()
    page = see(cast.media_manager, "/cards/")
    assert "KB04-261112-A01" in page and "not proven: no checksums came" in page
    assert "whose is this" in page and "Take in to KB04" in page
    assert "whose is this" not in see(cast.logger, "/cards/")  # only who may take it in is asked to


def test_a_found_folder_is_taken_in_from_the_page(cast, root):
    film(root / "whose is this" / "A.MOV")
    browser = browser_of(cast.media_manager)
    answer = browser.post("/cards/take-in/?production=KB04", {"folder": str(root / "whose is this")}, follow=True)
    assert "whose is this" in answer.content.decode()
    assert Job.objects.get().card.name == "whose is this"
    for elsewhere in (str(root.parent), "/etc", "", str(root / ".." / "x")):
        assert browser.post("/cards/take-in/?production=KB04", {"folder": elsewhere}).status_code == 404


def test_a_held_card_says_why_and_can_be_accepted_from_its_page(cast, root):
    film(root / "KB04-261112-A01" / "A001C001.MOV")
    (root / "KB04-261112-A01" / "EMPTY.MOV").touch()
    card = check(root / "KB04-261112-A01", cast.kb04)
    page = see(cast.media_manager, f"/cards/{card.id}/")
    assert "Why this card is held" in page and "EMPTY.MOV is empty: it holds no byte." in page
    assert "Accept this card all the same" not in see(cast.logger, f"/cards/{card.id}/")
    browser = browser_of(cast.media_manager)
    came_from = {"Referer": f"http://testserver/cards/{card.id}/"}
    refused = browser.post(f"/cards/{card.id}/accept/", {"reason": "x"}, headers=came_from, follow=True)
    assert "Say why this card may be trusted although it is held" in refused.content.decode()
    accepted = browser.post(f"/cards/{card.id}/accept/", {"reason": "A test shot, nothing lost."}, follow=True)
    words = accepted.content.decode()
    assert "Accepted by <b>media-manager</b>" in words and "A test shot, nothing lost." in words


def test_a_scan_from_the_page_says_what_it_found(cast, root):
    film(root / "KB04-261112-A01" / "A001C001.MOV")
    browser = browser_of(cast.owner)
    for found in ("1 new card", "no new cards"):
        said = browser.post("/cards/scan/?production=KB04", follow=True).content.decode()
        assert f"Looked under the card roots: {found}." in said


def test_a_failed_job_is_shown_until_it_is_done(make_card, cast):
    taken = make_card()
    taken.folder.rename(taken.folder.with_name("away"))
    work_off()
    address = f"/cards/{taken.card.id}/"
    assert "connect the drive with KB04-261112-A01" in see(cast.media_manager, address)
    taken.folder.with_name("away").rename(taken.folder)
    failed = Job.objects.get(state="failed")
    assert browser_of(cast.media_manager).post(f"/jobs/{failed.id}/retry/").status_code == 302
    work_off()
    page = see(cast.media_manager, address)
    assert "What could not be done" not in page and "connect the drive" not in page


def test_the_watching_page_opens_at_its_frame(cast, full):
    clip, select, _ = full

    def facts(address, person=cast.logger):
        return json.loads(re.search(r'<script id="facts"[^>]*>(.*?)</script>', see(person, address), re.DOTALL)[1])

    told = facts(f"/clips/{clip.id}/?frame=7")
    assert (told["frame"], told["frames"], told["rate"], told["start"]) == (7, 50, [25, 1], 900_000)
    assert [each["id"] for each in told["selects"]] == [str(select.id)]
    assert (told["mayMark"], facts(f"/clips/{clip.id}/", cast.media_manager)["mayMark"]) == (True, False)
    for odd, frame in (("999", 49), ("-1", 0), ("abc", 0), ("9" * 40, 0), ("", 0), ("1.5", 0), ("٣", 3)):
        assert facts(f"/clips/{clip.id}/?frame={odd}")["frame"] == frame
    page = see(cast.logger, f"/clips/{clip.id}/")
    assert page.count("<video") == 1 and f"/media/{clip.id}/proxy.mp4" in page


@pytest.mark.parametrize(
    ("state", "words"),
    [("waiting", "The proxy is being made"), ("failed", "No proxy could be made of this clip")],
)
def test_the_watching_page_says_when_there_is_no_proxy(cast, make_clip, state, words):
    clip = make_clip(proxy_state=state, proxy_problem="ffmpeg failed: no")
    assert words in see(cast.logger, f"/clips/{clip.id}/")


def test_the_next_unwatched_leads_to_a_frame(cast, full):
    answer = browser_of(cast.logger).get("/clips/next/?after=abc")
    assert answer["Location"] == f"/clips/{full[0].id}/?frame=0"


def test_selects_are_found_on_their_page(cast, full):
    assert "it <mark>lands</mark><br>then leaves" in see(cast.editor, "/selects/?text=lands&rating=4&tag=gull")
    assert "No select has all of these words" in see(cast.editor, "/selects/?text=whale")
    assert "Nothing fits all of these filters" in see(cast.editor, "/selects/?text=whale&rating=4")
    refused = see(cast.editor, "/selects/?rating=9", status=400)
    assert "is not a rating; it goes from 0 to 5" in refused
    assert "1 found" in see(cast.editor, "/selects/?page=99") and "1 found" in see(cast.editor, "/selects/?page=abc")


def test_another_production_is_searched_for_the_same_words(cast):
    people.add_member("editor", cast.nr07, roles.EDITOR)
    page = see(cast.editor, "/selects/?production=KB04&text=a net&rating=4")
    assert 'href="/selects/?production=NR07&amp;text=a%20net"' in page
    assert 'href="/?production=NR07"' in see(cast.editor, "/cards/?production=KB04")


def test_selects_are_paged(cast, make_clip):
    clip = make_clip(frames=200)
    for number in range(60):
        selecting.put(cast.logger, uuid.uuid4(), clip, selecting.Mark(number, number + 1, note=f"n{number:03}"), 0)
    first = see(cast.editor, "/selects/?camera=A")
    assert "60 found" in first and "n049" in first and "n050" not in first
    following = unescape(re.search(r'id="next-page" href="([^"]+)"', first)[1])
    second = see(cast.editor, f"/selects/{following}")
    assert "n050" in second and "n049" not in second and "camera=A" in following
    before = unescape(re.search(r'href="([^"]+)" rel="prev"', second)[1])
    assert "n000" in see(cast.editor, f"/selects/{before}")
    assert "begin with the first" in see(cast.editor, "/selects/?after=nonsense", status=400)


def test_a_list_is_made_on_its_page(cast, full):
    browser = browser_of(cast.editor)
    answer = browser.post("/lists/?production=KB04", {"name": "from the page"}, follow=True).content.decode()
    assert "from the page" in answer and "This list is empty" in answer
    assert browser.post("/lists/?production=KB04", {"name": " "}).status_code == 400
    assert browser.post("/lists/?production=KB04", {"name": "from the page"}).status_code == 400
    page = see(cast.editor, f"/lists/{full[2].id}/")
    assert "KB04-261112-A01" in page and "10:00:00:05" in page and "reel 61112A01" in page


def test_an_owner_adds_and_removes_people_on_their_page(cast):
    browser = browser_of(cast.owner)
    said = browser.post("/people/?production=KB04", {"name": "maya", "role": "logger"})
    password = re.search(r'class="once">([a-z0-9-]+)<', said.content.decode())[1]
    assert said["Cache-Control"] == "no-store"
    assert browser_of(None).post("/sign-in/", {"username": "maya", "password": password}).status_code == 302
    member = Membership.objects.get(person__username="maya")
    again = browser.post(f"/people/{member.id}/password/").content.decode()
    assert "A password for maya" in again and password not in again
    said = browser.post(f"/people/{member.id}/remove/", follow=True).content.decode()
    assert "maya is no longer logger. Everything they marked stays." in said
    mine = Membership.objects.get(person=cast.owner)
    assert browser.post(f"/people/{mine.id}/remove/").status_code == 400
    assert Membership.objects.filter(id=mine.id).exists()


def test_signing_in_and_out_and_a_new_password(cast):
    browser = browser_of(None)
    wrong = browser.post("/sign-in/", {"username": "logger", "password": "wrong"})
    assert "do not belong together" in wrong.content.decode()
    right = {"username": "logger", "password": PASSWORD, "next": "https://elsewhere.example/"}
    assert browser.post("/sign-in/", right)["Location"] == "/stints/?production=KB04"  # never to another site
    short = {"old_password": PASSWORD, "new_password1": "short", "new_password2": "short"}
    assert "at least 8 characters" in browser.post("/password/", short).content.decode()
    new = {"old_password": PASSWORD, "new_password1": "gull-cliff-9", "new_password2": "gull-cliff-9"}
    assert browser.post("/password/", new).status_code == 302
    assert browser.post("/sign-out/")["Location"] == "/sign-in/"
    assert browser.get("/cards/").status_code == 302
    assert browser.post("/sign-in/", {"username": "logger", "password": "gull-cliff-9"}).status_code == 302


def test_somebody_without_a_production_is_told_what_to_do(cast):
    Membership.objects.filter(person=cast.logger).delete()
    assert "manage.py member logger --production CODE" in see(cast.logger, "/")
    assert "ask a production&#x27;s owner to add you" in see(cast.logger, "/cards/", status=404)


def test_several_productions_are_chosen_from(cast, full):
    people.add_member("logger", cast.nr07, roles.LOGGER)
    Card.objects.filter(production=cast.kb04).update(state="held")
    page = see(cast.logger, "/")
    assert "Kestrel Bay" in page and "Night Run" in page
    assert "1 card, 1 not counted: 0 clips, 0 s" in page and "0 cards: 0 clips" in page
    assert see(cast.logger, "/cards/?production=NR07").count("KB04-261112-A01") == 0


def test_what_is_not_there_is_a_page_too(cast, full):
    for address in ("/nothing/", "/cards/999999/", "/clips/999999/", "/lists/999999/", f"/cards/{'9' * 30}/"):
        page = see(cast.owner, address, status=404)
        assert "There is nothing here" in page or "No " in page, address
        assert "Go to your productions" in page


def test_pages_stay_few_queries_with_much_to_show(cast, make_clip, django_assert_max_num_queries):
    clip = make_clip(frames=500)
    ids = []
    for number in range(45):
        mark = selecting.Mark(number, number + 5, (f"t{number % 7}",))
        ids.append(selecting.put(cast.logger, uuid.uuid4(), clip, mark, 0).id)
    made = lists.make(cast.editor, cast.kb04, "long", ids)
    for address in ("/selects/", f"/lists/{made.id}/", f"/clips/{clip.id}/", "/cards/", f"/cards/{clip.card_id}/"):
        browser = browser_of(cast.editor)
        with django_assert_max_num_queries(30):
            assert browser.get(address).status_code == 200
    assert SelectsList.objects.count() == Card.objects.count() == 1


def test_a_card_accepted_by_a_person_still_says_not_to_wipe_it(cast, make_card):
    taken = make_card("KB04-261112-A1")  # misnamed, so held
    page = see(cast.logger, f"/cards/{taken.card.id}/")
    assert "Do not wipe" in page and "held, with the card" in page and "not the same" not in page
    assert "The card&#x27;s name does not fit" in see(cast.logger, "/cards/?production=KB04")
    intake.accept(taken.card, cast.media_manager, "The label on the card says A01.")
    page = see(cast.logger, f"/cards/{taken.card.id}/")
    assert "Accepted for logging only: that proves nothing about the copy." in page and "Do not wipe" in page
    assert "1 accepted by a person" in see(cast.logger, "/cards/?production=KB04")
