"""What happened: each deed is written down beside itself, and never edited."""

import uuid
from datetime import timedelta
from fractions import Fraction

import pytest
from django.utils import timezone

from review import roles
from review.cards.wiping import WipeRule
from review.crew import activity, people
from review.custody import copies, intake, naming, sealing, wiping
from review.marking import card_clocks, carrying, selecting, taking_notes
from review.marking.selecting import Mark
from review.models import Activity, Copy, Medium, Membership
from review.record import stints
from review.refusals import Conflict, NotAllowed, Refusal
from review.team import second_looks
from tests.conftest import check, film, work_off

NOTES = b"date,timecode,text\n2026-11-12,10:00:01:00,a gull lands\n"


def told(production, **wanted) -> list[str]:
    """The sentences, oldest first."""
    return [str(each) for each in activity.find(production, wanted)][::-1]


def test_a_select_is_followed_through_its_life(cast, a_clip):
    made = selecting.put(cast.logger, uuid.uuid4(), a_clip, Mark(5, 20, ("gull",)), 0)
    selecting.put(cast.logger, made.id, a_clip, Mark(5, 20, ("gull",)), 0)  # sent again: nothing new
    changed = selecting.put(cast.editor, made.id, a_clip, Mark(6, 20, ("gull", "net"), "it lands", 4), 1)
    gone = selecting.delete(cast.editor, changed)
    selecting.put(cast.logger, made.id, a_clip, Mark(6, 20, ("gull", "net"), "it lands", 4), gone.version)
    where = "KB04-261112-A01 A001C001"
    assert told(cast.kb04, about="select") == [
        f"logger marked {where} 10:00:00:05 – 10:00:00:20: gull",
        f"editor changed {where} 10:00:00:06 – 10:00:00:20: "
        "in from 10:00:00:05, rated 4, was 0, the note, tags: gull, net",
        f"editor deleted {where} 10:00:00:06 – 10:00:00:20",
        f"logger brought back {where} 10:00:00:06 – 10:00:00:20",
    ]
    row = Activity.objects.first()
    assert (row.subject, row.clip, row.card) == (str(made.id), a_clip, a_clip.card)


def test_what_was_refused_did_not_happen(cast, a_clip):
    made = selecting.put(cast.logger, uuid.uuid4(), a_clip, Mark(5, 20), 0)
    with pytest.raises(Conflict):
        selecting.put(cast.editor, made.id, a_clip, Mark(6, 20), 7)
    with pytest.raises(NotAllowed):
        selecting.delete(cast.media_manager, made)
    assert len(told(cast.kb04, about="select")) == 1


def test_carrying_and_setting_a_clock_are_written_down(cast, make_clip):
    clip, other = make_clip(), make_clip(card="KB04-261112-B01")
    card_clocks.set_offset(cast.logger, other.card, Fraction(1, 5))
    card_clocks.clear(cast.logger, other.card)
    carrying.carry(cast.logger, selecting.put(cast.logger, uuid.uuid4(), clip, Mark(5, 20), 0))
    assert told(cast.kb04, card="KB04-261112-B01") == [
        "logger set the clock of KB04-261112-B01: +0.20 s",
        "logger cleared the clock of KB04-261112-B01",
        "logger carried to another angle KB04-261112-B01 A001C001 10:00:00:05 – 10:00:00:20",
    ]


def test_a_card_is_followed_from_found_to_sealed(cast, root):
    folder = root / "KB04-261112-A01"
    film(folder / "A001C001.MOV")
    (folder / "EMPTY.MOV").touch()
    card = check(folder, cast.kb04)
    intake.accept(card, cast.media_manager, "a test shot")
    intake.check_by(cast.media_manager, card)
    work_off()
    card.refresh_from_db()
    sealing.seal(cast.owner, card)
    found = told(cast.kb04, about="card", card=card.name)
    assert [line.split(" KB04")[0] for line in found] == [
        "Rushlight found",
        "Rushlight held",
        "media-manager accepted",
        "media-manager asked for a check of",
        "Rushlight checked",  # somebody accepted what it found, and nothing is new
        "owner sealed",
    ]
    assert found[1].endswith("1 finding. EMPTY.MOV is empty: it holds no byte.")
    assert found[2].endswith("although it is held: a test shot")


def test_copies_are_followed_too(cast, make_clip):
    card = make_clip().card
    medium = Medium.objects.create(production=cast.kb04, volume="named:shuttle", label="shuttle", kind="disk")
    copy = card.copies.create(medium=medium, folder="/nowhere/else", state=Copy.State.SAME)
    copies.prove_by(cast.media_manager, copy)
    copies.own_gone(card, "it is gone")
    copies.own_gone(card, "it is gone")  # it is held already
    copies.forget_by(cast.owner, copy)
    assert told(cast.kb04, card=card.name) == [
        "media-manager asked for a proof of KB04-261112-A01 on shuttle",
        "Rushlight held KB04-261112-A01: it is gone",
        "owner forgot a copy of KB04-261112-A01 on shuttle: /nowhere/else",
    ]


def test_rules_notes_and_people_are_written_down(cast):
    wiping.set_rule(cast.producer, cast.kb04, WipeRule(2, 1, 0))
    naming.set_rule(cast.producer, cast.kb04, "")
    taking_notes.take(cast.producer, cast.kb04, NOTES)
    taking_notes.take(cast.producer, cast.kb04, NOTES)  # nothing new
    taking_notes.delete(cast.owner, cast.kb04.field_notes.get())
    people.add_member_by(cast.owner, "maya", cast.kb04, roles.LOGGER)
    people.remove_member_by(cast.owner, Membership.objects.get(person__username="maya"))
    assert told(cast.kb04) == [
        f"producer changed the rule for wiping cards to: {WipeRule(2, 1, 0)}",
        "producer changed the rule for naming cards to: the usual one",
        "producer took 1 field note",
        "owner deleted the field note of 2026-11-12 10:00:01:00: a gull lands",
        "owner added maya as logger",
        "owner took the role logger from maya",
    ]


# Never edited --------------------------------------------------------------------------------------


def test_what_happened_cannot_be_changed_or_taken_back(cast, a_clip):
    selecting.put(cast.logger, uuid.uuid4(), a_clip, Mark(5, 20), 0)
    row = Activity.objects.get()
    for change in (row.save, row.delete, Activity.objects.all().delete, lambda: Activity.objects.update(did="x")):
        with pytest.raises(TypeError, match="never"):
            change()
    assert Activity.objects.get().did == "marked"


def test_it_outlives_the_clip_that_it_was_about(cast, make_clip):
    clip = make_clip()
    activity.happened(cast.kb04, None, "looked at", str(clip), activity.About.CLIP, clip.id, clip=clip)
    clip.delete()
    row = Activity.objects.get()
    assert (row.clip, str(row)) == (None, "Rushlight looked at KB04-261112-A01 A001C001")


def test_a_long_sentence_is_cut_and_says_so(cast):
    row = activity.happened(cast.kb04, None, "said", "x" * 1000, activity.About.PRODUCTION)
    assert len(row.words) == 400 and row.words.endswith("x…")


# Finding in it -------------------------------------------------------------------------------------


@pytest.fixture
def some(cast, make_clip):
    selecting.put(cast.logger, uuid.uuid4(), make_clip(), Mark(5, 20, ("gull",)), 0)
    selecting.put(cast.editor, uuid.uuid4(), make_clip(card="KB04-261113-B01"), Mark(1, 9, ("net",)), 0)
    activity.happened(cast.kb04, None, "held", "KB04-261113-B01: a fault", activity.About.CARD)


@pytest.mark.parametrize(
    ("wanted", "who"),
    [
        ({}, ["logger", "editor", None]),
        ({"person": "logger"}, ["logger"]),
        ({"person": activity.BY_ITSELF}, [None]),
        ({"about": "select"}, ["logger", "editor"]),
        ({"card": "KB04-261113-B01"}, ["editor"]),
        ({"text": "NET marked"}, ["editor"]),
        ({"text": "whale"}, []),
        ({"person": "nobody at all"}, []),
        ({"card": "\0"}, ["logger", "editor", None]),
    ],
)
def test_it_is_filtered(cast, some, wanted, who):
    found = activity.find(cast.kb04, wanted)
    assert [each.person and each.person.username for each in found][::-1] == who


def test_what_is_about_stints_has_splits_and_second_looks(cast, a_clip):
    look = second_looks.ask(cast.editor, a_clip)
    second_looks.end(cast.editor, look)
    activity.happened(cast.kb04, cast.producer, "accepted", "split 4: 2 stretches", activity.About.PRODUCTION, "KB04")
    activity.happened(cast.kb04, cast.producer, "set", "the rules", activity.About.PRODUCTION, "KB04")
    stints.take(cast.logger, a_clip)
    assert [each.did for each in activity.find(cast.kb04, {"about": "stint"}).order_by("id")] == [
        "asked for", "ended", "accepted", "took",
    ]  # fmt: skip


def test_it_is_filtered_by_day(cast, some):
    today = timezone.localdate()
    assert activity.find(cast.kb04, {"day": today.isoformat()}).count() == 3
    assert activity.find(cast.kb04, {"day": (today - timedelta(days=1)).isoformat()}).count() == 0


@pytest.mark.parametrize("wanted", [{"day": "soon"}, {"day": "9999-12-31"}, {"about": "weather"}])
def test_a_filter_that_cannot_be_is_refused(cast, wanted):
    with pytest.raises(Refusal):
        activity.find(cast.kb04, wanted)


def test_another_production_has_its_own(cast, some):
    assert not activity.find(cast.nr07, {}).exists()
