"""Who guesses passwords is slowed down, and an owner hears of it."""

import uuid

import pytest
from django.test import Client

from review import roles
from review.crew import people
from review.models import Activity, Membership
from review.record import watching
from tests.conftest import PASSWORD, see


def sign_in(name: str, password: str, address: str = "10.0.0.7", **more):
    return Client().post("/sign-in/", {"username": name, "password": password}, REMOTE_ADDR=address, **more)


def guess(times: int, name: str = "logger", **more):
    return [sign_in(name, f"wrong-{number}", **more) for number in range(times)][-1]


def test_it_works(cast):
    assert sign_in("logger", PASSWORD).status_code == 302


def test_a_logger_comes_to_the_stints_of_the_production_they_were_last_in(cast, make_clip):
    assert sign_in("logger", PASSWORD)["Location"] == "/stints/?production=KB04"
    people.add_member("logger", cast.nr07, roles.LOGGER)
    night = make_clip(card="NR07-261112-A01", production=cast.nr07)
    watching.open_viewing(cast.logger, night, uuid.uuid4())
    assert sign_in("logger", PASSWORD)["Location"] == "/stints/?production=NR07"
    told = Client().post("/sign-in/?next=/", {"username": "logger", "password": PASSWORD})
    assert told["Location"] == "/stints/?production=NR07"  # who opened Rushlight at its front door
    told = Client().post("/sign-in/?next=/lists/", {"username": "logger", "password": PASSWORD})
    assert told["Location"] == "/lists/"
    assert "Kestrel Bay" in see(cast.logger, "/")  # the productions are still there to choose from
    Membership.objects.filter(person=cast.logger, production=cast.nr07).delete()
    assert sign_in("logger", PASSWORD)["Location"] == "/stints/?production=KB04"


def test_whoever_is_more_than_a_logger_chooses_a_production(cast):
    people.add_member("logger", cast.kb04, roles.EDITOR)
    assert sign_in("logger", PASSWORD)["Location"] == sign_in("producer", PASSWORD)["Location"] == "/"


def test_a_few_mistakes_are_forgiven(cast):
    assert guess(9).status_code == 200
    assert sign_in("logger", PASSWORD).status_code == 302
    assert guess(9).status_code == 200  # they do not add up for ever


def test_guessing_closes_the_name_there_and_says_so(cast):
    told = guess(10)
    assert (told.status_code, "closed for 15 minutes" in told.content.decode()) == (429, True)
    assert sign_in("logger", PASSWORD).status_code == 429
    assert sign_in("logger", PASSWORD, address="10.0.0.8").status_code == 302  # whoever it belongs to works on
    assert sign_in("editor", PASSWORD).status_code == 302


def test_the_owner_is_told_once(cast):
    guess(25)
    (told,) = Activity.objects.filter(did="was guessed at")
    assert (told.production, told.person, told.about) == (cast.kb04, None, "people")
    assert told.words == "logger’s password: 10 wrong ones from 10.0.0.7"


def test_a_name_that_nobody_has_is_answered_alike(cast):
    here, nowhere = guess(10), guess(10, "nobody")
    assert (here.status_code, here.content) == (nowhere.status_code, nowhere.content)
    assert Activity.objects.filter(did="was guessed at").count() == 1


@pytest.mark.parametrize(("behind", "address"), [(False, "10.0.0.7"), (True, "203.0.113.9")])
def test_what_a_stranger_writes_into_the_header_is_not_believed(cast, settings, behind, address):
    """Only what the server in front added, the last of them, is; and none where there is no such server."""
    settings.BEHIND_NGINX = behind
    for number in range(10):
        told = sign_in("logger", "wrong", HTTP_X_FORWARDED_FOR=f"198.51.100.{number}, 203.0.113.9")
    assert told.status_code == 429
    assert Activity.objects.get(did="was guessed at").words.endswith(address)


def test_the_page_has_no_open_redirect(cast):
    told = Client().post("/sign-in/?next=https://elsewhere.example/", {"username": "editor", "password": PASSWORD})
    assert (told.status_code, told["Location"]) == (302, "/")


def test_a_password_is_not_written_into_any_log(cast, caplog):
    guess(11)
    assert "wrong-3" not in caplog.text and "closed after 10 failures" in caplog.text


def test_words_that_are_no_name_are_refused_quietly(cast):
    assert sign_in("x\0y" * 100, "z" * 5000).status_code == 200
    assert see(cast.owner, "/people/")
