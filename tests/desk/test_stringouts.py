import uuid

import pytest
from django.db import IntegrityError, transaction

from review import roles, tasks
from review.desk import lists, stringouts
from review.marking import selecting
from review.models import Activity, Clip, Job, Select
from review.refusals import NotAllowed, NotFound, Refusal
from review.work import jobs
from tests.conftest import browser_of, see, work_off


def marked(person, clip, in_frame, out_frame) -> Select:
    return selecting.put(person, uuid.uuid4(), clip, selecting.Mark(in_frame, out_frame), 0)


@pytest.fixture
def best(cast, make_card):
    """A list of two selects of a clip that can be watched."""
    clip = make_card(proxied=True).clip
    chosen = [marked(cast.logger, clip, 30, 40), marked(cast.logger, clip, 5, 10)]
    return lists.make(cast.editor, cast.kb04, "best", [each.id for each in chosen])


def test_it_works(cast, best):
    asked = stringouts.ask(cast.editor, best)
    assert "waiting for a worker" in see(cast.editor, f"/lists/{best.id}/stringouts/")
    work_off()
    asked.refresh_from_db()
    assert (asked.file, asked.milliseconds, stringouts.job_of(asked).state) == ("stringout.mp4", 600, "done")
    assert [each[1:] for each in asked.events] == [[30, 40], [5, 10]]
    assert Activity.objects.get(did="asked for a stringout of").words == "the list “best”"
    answer = browser_of(cast.editor).get(f"/stringouts/{asked.id}/video.mp4", headers={"Range": "bytes=4-7"})
    assert (answer.status_code, b"".join(answer)) == (206, b"ftyp")
    assert f"/stringouts/{asked.id}/video.mp4" in see(cast.editor, f"/lists/{best.id}/stringouts/")


def test_what_is_in_it_is_settled_when_it_is_asked_for(cast, best):
    asked = stringouts.ask(cast.editor, best)
    lists.change(cast.editor, best, best.version, select_ids=[])
    work_off()
    asked.refresh_from_db()
    assert len(asked.events) == 2 and asked.file
    assert "changed" in see(cast.editor, f"/lists/{best.id}/stringouts/")


def test_a_clip_without_a_proxy_is_named(cast, a_clip):
    made = lists.make(cast.editor, cast.kb04, "best", [marked(cast.logger, a_clip, 0, 9).id])
    with pytest.raises(Refusal, match="The proxy of A001C001 is not made yet"):
        stringouts.ask(cast.editor, made)
    assert not Job.objects.exists()


def test_a_list_that_is_too_long_is_refused(cast, make_clip):
    clip = make_clip(frames=25 * 5 * 3600, proxy_state=Clip.ProxyState.READY)
    made = lists.make(cast.editor, cast.kb04, "all", [marked(cast.logger, clip, 0, clip.frames).id])
    with pytest.raises(Refusal, match=r"runs for 5\.0 hours"):
        stringouts.ask(cast.editor, made)


def test_an_empty_list_is_refused_in_words(cast):
    made = lists.make(cast.editor, cast.kb04, "none")
    told = browser_of(cast.editor).post(f"/lists/{made.id}/stringouts/?production=KB04")
    assert told.status_code == 400 and b"has no selects" in told.content


def test_strangers_find_nothing(cast, best):
    asked = stringouts.ask(cast.editor, best)
    work_off()
    with pytest.raises(NotFound):
        stringouts.ask(cast.stranger, best)
    for path in (f"/lists/{best.id}/stringouts/", f"/stringouts/{asked.id}/video.mp4"):
        assert browser_of(cast.stranger).get(path).status_code == 404
    assert browser_of(None).get(f"/stringouts/{asked.id}/video.mp4").status_code == 302


def test_a_proxy_that_went_away_fails_it_in_words_and_it_can_be_tried_again(cast, best, settings):
    asked = stringouts.ask(cast.editor, best)
    clip = Clip.objects.get()
    proxy = settings.MEDIA_HOME / "clips" / str(clip.id) / "proxy.mp4"
    kept = proxy.rename(proxy.with_suffix(".kept"))
    work_off()
    failed = stringouts.job_of(asked)
    assert failed.state == Job.State.FAILED
    assert "The proxy of A001C001 of KB04-261112-A01 is gone. Check its card again" in failed.error
    assert "Try again" in see(cast.editor, f"/lists/{best.id}/stringouts/")
    kept.rename(proxy)
    browser_of(cast.editor).post(f"/stringouts/{asked.id}/retry/?production=KB04")
    work_off()
    asked.refresh_from_db()
    assert asked.file


def test_a_killed_worker_leaves_nothing_where_it_is_looked_for(cast, best, settings):
    asked = stringouts.ask(cast.editor, best)
    jobs.claim(stringouts.job_of(asked).id)  # and never ends
    left = settings.MEDIA_HOME / "stringouts" / "999"
    left.mkdir(parents=True)
    tasks.sweep()
    assert not left.exists() and not stringouts.folder(asked).exists()


def test_old_ones_make_room(cast, best):
    made = [stringouts.ask(cast.editor, best) for _ in range(stringouts.KEPT + 2)]
    work_off()
    stringouts.tidy()
    assert list(best.stringouts.values_list("id", flat=True)) == [each.id for each in reversed(made[2:])]
    assert not stringouts.folder(made[0]).exists() and stringouts.folder(made[-1]).exists()


def test_a_job_is_about_a_card_or_a_stringout(best):
    with pytest.raises(IntegrityError), transaction.atomic():
        Job.objects.create(kind=Job.Kind.STRINGOUT, why="nothing")


def test_somebody_without_the_ability_is_told_who_may(cast, best, monkeypatch):
    monkeypatch.setitem(roles.ABILITIES, roles.EXPORT, {roles.EDITOR})
    with pytest.raises(NotAllowed, match="you must be an editor"):
        stringouts.ask(cast.logger, best)
