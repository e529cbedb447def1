"""The shelf: what age asks for. Intervals and lifetimes: common practice, no source; tapes: cards/test_media_kinds."""

from datetime import date, timedelta

import pytest
from django.core.management import call_command
from django.utils import timezone

from review.custody import shelf
from review.models import Copy, Medium
from review.refusals import NotAllowed, Refusal
from tests.conftest import see, work_off

TODAY = date(2026, 11, 25)


@pytest.fixture
def medium(cast):
    def make(label="shuttle", kind="disk", **about):
        return Medium.objects.create(production=cast.kb04, volume=f"named:{label}", label=label, kind=kind, **about)

    return make


def proven(clip, medium, days_ago=0, **about):
    when = timezone.now() - timedelta(days=days_ago)
    facts = {"state": Copy.State.SAME, "proven_at": when, "checked_at": when, "folder": f"/nowhere/{medium.label}"}
    return Copy.objects.create(card=clip.card, medium=medium, **(facts | about))


def test_it_works(a_clip, medium, cast):
    fresh, old = proven(a_clip, medium(), 10), proven(a_clip, medium("vault"), 190)
    today = timezone.localdate()
    assert [copy for _, copy in shelf.due(cast.kb04, today)] == [old]
    assert shelf.next_check(fresh) == today + timedelta(days=172)


def test_a_medium_may_have_an_interval_of_its_own(a_clip, medium, cast):
    copy = proven(a_clip, medium(check_every=5), 10)
    assert [each for _, each in shelf.due(cast.kb04, timezone.localdate())] == [copy]


def test_a_copy_that_was_never_read_is_due_at_once(a_clip, medium, cast):
    proven(a_clip, medium(), state=Copy.State.FOUND, proven_at=None, checked_at=None)
    assert len(shelf.due(cast.kb04, timezone.localdate())) == 1


def test_the_cameras_own_card_and_retired_media_are_never_due(a_clip, medium, cast):
    proven(a_clip, medium("reader"), 400, is_original=True)
    proven(a_clip, medium("old", retired_at=timezone.now()), 400)
    assert shelf.due(cast.kb04, timezone.localdate() + timedelta(days=999)) == []


def test_cards_with_a_single_copy_are_listed(a_clip, make_clip, medium, cast):
    other = make_clip(card="KB04-261112-A02")
    first, second = medium(), medium("vault")
    proven(a_clip, first)
    assert shelf.single(cast.kb04) == [(a_clip.card, 1), (other.card, 0)]
    proven(a_clip, first, folder="/nowhere/twice")
    assert (a_clip.card, 1) in shelf.single(cast.kb04), "two folders on one drive are gone together"
    proven(a_clip, second)
    assert shelf.single(cast.kb04) == [(other.card, 0)]


def test_media_grow_old(medium, cast):
    medium("new", in_use_since=date(2026, 1, 1))
    old = medium("old", in_use_since=date(2017, 1, 1))
    soon = medium("soon", in_use_since=date(2023, 1, 1))
    own = medium("own", replace_by=date(2026, 2, 1))
    found = shelf.to_replace(cast.kb04, TODAY)
    assert [each.medium for each in found] == [old, own, soon]
    assert (found[0].begins, found[0].latest) == (date(2020, 1, 1), date(2025, 1, 1))


def test_tapes_that_are_about_to_lose_their_drive(medium, cast):
    six, eight = medium("six", "lto-6"), medium("eight", "lto-8")
    shelf.add_drive(cast.media_manager, cast.kb04, "post house", 8, date(2027, 3, 1))
    first, second = shelf.tapes(cast.kb04, TODAY)
    assert (first.generation, first.tapes, first.lost, first.read_by) == (6, [six], True, [6, 7])
    assert (second.tapes, second.lost, second.ends) == ([eight], False, date(2027, 3, 1))
    assert shelf.tapes(cast.kb04, date(2027, 3, 1))[1].lost
    shelf.add_drive(cast.media_manager, cast.kb04, "our own", 9, None)
    assert shelf.tapes(cast.kb04, TODAY)[1].ends is None


def test_productions_about_to_lose_their_drive_are_listed_together(medium, cast):
    Medium.objects.create(production=cast.nr07, volume="t", label="night tape", kind="lto-5")
    medium("eight", "lto-8")
    shelf.add_drive(cast.owner, cast.kb04, "ours", 8, date(2028, 1, 1))
    found = shelf.about_to_lose([cast.kb04, cast.nr07], TODAY)
    assert [(production.code, outlook.generation) for production, outlook in found] == [("NR07", 5)]
    assert shelf.about_to_lose([cast.kb04], date(2027, 6, 1))[0][1].ends == date(2028, 1, 1)


def test_the_shelf_page_says_it_all(a_clip, medium, cast):
    proven(a_clip, medium(in_use_since=date(2015, 1, 1)), 400)
    medium("tape 1", "lto-6")
    page = see(cast.logger, "/shelf/?production=KB04")
    for words in (a_clip.card.name, "shuttle", "overdue since", "no drive that reads it", "LTO-6 or LTO-7"):
        assert words in page, words
    assert "Prove what is due" not in page and "Prove what is due" in see(cast.owner, "/shelf/?production=KB04")
    assert "Drives that read it: LTO-6, LTO-7" in see(
        cast.logger, f"/shelf/media/{Medium.objects.get(label='tape 1').id}/"
    )


def test_a_medium_is_described_by_those_who_look_after_cards(medium, cast):
    drive = medium()
    says = shelf.Description(" Shuttle  2 ", "ssd", "the truck", True, date(2026, 1, 1), 30, None)
    shelf.describe(cast.media_manager, drive, says)
    drive.refresh_from_db()
    assert (drive.label, drive.kind, drive.elsewhere, drive.check_every) == ("Shuttle 2", "ssd", True, 30)
    with pytest.raises(NotAllowed):
        shelf.describe(cast.logger, drive, says)


@pytest.mark.parametrize(
    ("about", "words"),
    [
        ({"label": " "}, "label"),
        ({"kind": "floppy"}, "kinds of medium"),
        ({"check_every": 0}, "1 to 3650"),
        ({"in_use_since": date(2999, 1, 1)}, "still to come"),
    ],
)
def test_what_makes_no_sense_is_refused(medium, cast, about, words):
    facts = {"label": "x", "kind": "disk", "place": "", "elsewhere": False}
    facts |= {"in_use_since": None, "check_every": None, "replace_by": None}
    with pytest.raises(Refusal, match=words):
        shelf.describe(cast.owner, medium(), shelf.Description(**(facts | about)))


def test_a_medium_that_holds_the_folder_worked_from_cannot_be_retired(make_card, cast):
    copy = make_card().card.copies.get()
    with pytest.raises(Refusal, match="worked from"):
        shelf.retire(cast.owner, copy.medium)


def test_recheck_proves_what_is_due_a_few_at_a_time(make_card, cast, capsys):
    cards = [make_card().card, make_card("KB04-261112-A02", frames=30).card]
    long_ago = timezone.now() - timedelta(days=400)
    Copy.objects.update(checked_at=long_ago, proven_at=long_ago)
    call_command("recheck", "--production", "KB04", "--at-most", "1", "--wait")
    assert capsys.readouterr().out.count("to be proven") == 1
    assert sorted(copy.checked_at > long_ago for copy in Copy.objects.filter(card__in=cards)) == [False, True]
    call_command("recheck", "--wait")
    call_command("recheck", "--wait")
    assert "Nothing is due." in capsys.readouterr().out


def test_recheck_says_what_is_not_the_same_and_what_is_away(make_card, cast, capsys, tmp_path):
    good, bad = make_card(), make_card("KB04-261112-A02", frames=30)
    Copy.objects.update(checked_at=timezone.now() - timedelta(days=400))
    good.folder.rename(tmp_path / "gone")
    with open(bad.folder / "CLIP" / "A001C001.MOV", "r+b") as file:
        file.seek(5000)
        file.write(b"?")
    with pytest.raises(SystemExit) as ended:
        call_command("recheck", "--wait")
    said = capsys.readouterr().out
    assert ended.value.code == 3
    assert "due, but away: KB04-261112-A01" in said and "KB04-261112-A02" in said and "not the same" in said
    work_off()
