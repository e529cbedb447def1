"""Productions, and who is in them."""

import pytest

from review import roles
from review.crew import access, people
from review.marking import selecting
from review.models import Membership, Person, Production
from review.record import stints
from review.refusals import NotAllowed, NotFound, Refusal
from review.timecode import Rate, Timebase
from tests.conftest import PASSWORD, api_of, browser_of


def may_sign_in(name: str, password: str) -> bool:
    return Person.objects.get(username=name).check_password(password)


def test_it_works(db):
    production, new = people.make_production("KB04", "  Kestrel   Bay ", Timebase(Rate(25)))
    assert new and str(production) == "KB04 Kestrel Bay"
    person, password = people.add_member("maya", production, roles.LOGGER)
    assert person.username == "maya" and may_sign_in("maya", password)
    assert access.roles_in(person, production) == {"logger"}


def test_a_production_made_twice_is_changed_once(cast):
    production, new = people.make_production("KB04", "Gull Rock", Timebase(Rate(50)))
    assert not new and production == cast.kb04
    assert Production.objects.get(code="KB04").timebase == Timebase(Rate(50))
    people.make_production("KB04", "Gull Rock again")  # a new title leaves the rate alone
    assert Production.objects.get(code="KB04").timebase == Timebase(Rate(50))


def test_somebody_holds_several_roles_in_several_productions(cast):
    again, password = people.add_member("logger", cast.kb04, roles.PRODUCER)
    assert (again, password) == (cast.logger, None)
    people.add_member("LOGGER", cast.nr07, roles.EDITOR)  # one person, however it is typed
    people.add_member("logger", cast.nr07, roles.EDITOR)
    assert access.roles_in(cast.logger, cast.kb04) == {"logger", "producer"}
    assert access.roles_in(cast.logger, cast.nr07) == {"editor"}


def test_passwords_are_hard_to_guess_and_easy_to_read_out():
    made = {people.fresh_password() for _ in range(200)}
    assert len(made) == 200
    assert all(len(each) == 14 and not set(each) & set("0o1l") for each in made)


def test_a_renewed_password_replaces_the_old_one(cast):
    old, new = people.renew_password(cast.logger), people.renew_password(cast.logger)
    assert may_sign_in("logger", new) and not may_sign_in("logger", old)


def test_an_owner_renews_the_password_of_who_is_in_their_productions_only(cast):
    password = people.renew_password_by(cast.owner, cast.logger)
    assert may_sign_in("logger", password)
    people.add_member("logger", cast.nr07, roles.LOGGER)
    for owner, person in ((cast.owner, cast.logger), (cast.owner, cast.stranger), (cast.logger, cast.logger)):
        with pytest.raises(NotAllowed, match="is in productions that you do not own"):
            people.renew_password_by(owner, person)
    assert may_sign_in("logger", password)


@pytest.mark.parametrize(
    ("text", "timebase"),
    [
        ("25", Timebase(Rate(25))),
        ("23.976", Timebase(Rate(24000, 1001))),
        ("29.97", Timebase(Rate(30000, 1001))),
        ("29.97NDF", Timebase(Rate(30000, 1001))),
        ("29.97DF", Timebase(Rate(30000, 1001), drop=True)),
        (" 59.94df ", Timebase(Rate(60000, 1001), drop=True)),
    ],
)
def test_a_rate_is_read_as_people_write_it(text, timebase):
    assert people.read_timebase(text) == timebase


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("25DF", "no drop-frame timecode at 25"),
        ("12", "not a standard rate"),
        ("0", "not a standard rate"),
        ("fast", "is not a frame rate"),
        ("", "is not a frame rate"),
        ("nan", "is not a frame rate"),
        ("25/0", "is not a frame rate"),
        ("1e400", "is not a"),
    ],
)
def test_a_rate_that_is_none_is_refused(text, words):
    with pytest.raises(Refusal, match=words) as refused:
        people.read_timebase(text)
    assert refused.value.field == "rate"


@pytest.mark.parametrize("code", ["", "KB4", "KB041", "K B04", "0404", "kb04", "КБ04", "KB٠٤"])
def test_a_code_that_does_not_fit_is_refused(db, code):
    with pytest.raises(Refusal, match="is not a production code") as refused:
        people.make_production(code, "Kestrel Bay", Timebase(Rate(25)))
    assert refused.value.field == "code"


@pytest.mark.parametrize("title", ["", "   ", "x" * 201])
def test_a_production_needs_a_title(db, title):
    with pytest.raises(Refusal, match="A production needs a title"):
        people.make_production("KB04", title, Timebase(Rate(25)))


@pytest.mark.parametrize("name", ["", "maya b", "maya\n", "m/aya", "x" * 151, "<b>"])
def test_a_sign_in_name_that_cannot_be_is_refused(cast, name):
    with pytest.raises(Refusal, match="A sign-in name is letters, digits"):
        people.add_member(name, cast.kb04, roles.LOGGER)
    assert not Person.objects.filter(username=name).exists()


def test_an_unknown_role_and_an_unknown_production_are_refused_with_what_there_is(cast):
    with pytest.raises(Refusal, match="'boss' is not a role; the roles are: media manager, logger"):
        people.add_member("maya", cast.kb04, "boss")
    with pytest.raises(Refusal, match=r"no production 'ZZ99' \(there is: KB04, NR07\); make it with"):
        people.find_production("ZZ99")


def test_an_owner_adds_and_removes_and_the_work_stays(cast, a_clip):
    person, password = people.add_member_by(cast.owner, "maya", cast.kb04, roles.LOGGER)
    assert password
    made = selecting.put(person, "6f1c8a52-27b0-4c2c-8f53-1a2b3c4d5e6f", a_clip, selecting.Mark(0, 5), 0)
    people.remove_member_by(cast.owner, Membership.objects.get(person=person))
    made.refresh_from_db()
    assert made.logger == person
    assert not access.clips(person).exists()


def test_who_is_removed_hands_back_what_they_had_taken_on(cast, a_clip):
    people.add_member("logger", cast.kb04, roles.EDITOR)
    stint = stints.take(cast.logger, a_clip)
    for role, ended in ((roles.EDITOR, False), (roles.LOGGER, True)):
        people.remove_member_by(cast.owner, Membership.objects.get(person=cast.logger, role=role))
        stint.refresh_from_db()
        assert bool(stint.ended_at) is ended
    assert stints.take(cast.editor, a_clip)


def test_the_only_owner_stays(cast):
    mine = Membership.objects.get(person=cast.owner)
    with pytest.raises(Refusal, match="owner is the only owner of KB04; make another owner first"):
        people.remove_member_by(cast.owner, mine)
    people.add_member_by(cast.owner, "maya", cast.kb04, roles.OWNER)
    people.remove_member_by(cast.owner, mine)
    assert access.roles_in(cast.owner, cast.kb04) == set()


def test_only_an_owner_manages_people(cast):
    for person in (cast.media_manager, cast.logger, cast.editor, cast.producer):
        with pytest.raises(NotAllowed, match="To manage people in KB04 you must be an owner; ask its owner"):
            people.add_member_by(person, "maya", cast.kb04, roles.LOGGER)
        with pytest.raises(NotAllowed):
            people.remove_member_by(person, Membership.objects.get(person=person))


def test_an_owner_of_another_production_is_a_stranger_here(cast):
    with pytest.raises(NotFound):
        people.add_member_by(cast.stranger, "maya", cast.kb04, roles.LOGGER)
    with pytest.raises(NotFound):
        people.remove_member_by(cast.stranger, Membership.objects.get(person=cast.logger))


# Who does not work here any more ---------------------------------------------------------------------


def test_a_stopped_sign_in_leaves_the_work_and_frees_the_stints(cast, a_clip):
    made = selecting.put(cast.logger, "6f1c8a52-27b0-4c2c-8f53-1a2b3c4d5e6f", a_clip, selecting.Mark(0, 5), 0)
    stint = stints.take(cast.logger, a_clip)
    browser, script = browser_of(cast.logger), api_of(cast.logger)
    assert browser.get("/cards/").status_code == script.get("/api/v1/clips/").status_code == 200
    for _ in range(2):  # twice is once
        people.stop_by(cast.owner, cast.logger)
    assert browser.get("/cards/").status_code == 302
    assert script.get("/api/v1/clips/").status_code == 401
    made.refresh_from_db()
    stint.refresh_from_db()
    assert made.logger.username == "logger" and made.deleted is None
    assert stint.ended_at and stint.ended_why == "the sign-in was stopped"
    assert stints.take(cast.editor, a_clip)
    told = [(each.did, each.words) for each in cast.kb04.activity.filter(about="people")]
    assert told == [("stopped the sign-in of", "logger, and freed what they held: 1 stretch")]


def test_who_is_brought_back_signs_in_with_the_old_password(cast):
    people.stop_by(cast.owner, cast.logger)
    for _ in range(2):
        people.bring_back_by(cast.owner, cast.logger)
    logger = Person.objects.get(username="logger")
    assert logger.is_active and may_sign_in("logger", PASSWORD)
    assert access.may(logger, cast.kb04, roles.MARK)
    assert [each.did for each in cast.kb04.activity.filter(about="people")] == [
        "brought back",
        "stopped the sign-in of",
    ]


def test_only_an_owner_of_all_their_productions_stops_or_brings_back(cast):
    people.add_member("logger", cast.nr07, roles.LOGGER)
    for owner, person in ((cast.owner, cast.logger), (cast.stranger, cast.editor), (cast.producer, cast.editor)):
        for deed in (people.stop_by, people.bring_back_by):
            with pytest.raises(NotAllowed, match="is in productions that you do not own"):
                deed(owner, person)
    assert Person.objects.filter(is_active=True).count() == Person.objects.count()


def test_nobody_stops_their_own_sign_in(cast):
    with pytest.raises(Refusal, match="ask another owner"):
        people.stop_by(cast.owner, cast.owner)


def test_an_owner_whose_sign_in_is_stopped_does_not_count_as_one(cast):
    other, _ = people.add_member_by(cast.owner, "maya", cast.kb04, roles.OWNER)
    people.stop_by(cast.owner, other)
    with pytest.raises(Refusal, match="owner is the only owner of KB04"):
        people.remove_member_by(cast.owner, Membership.objects.get(person=cast.owner))
