"""What is new: the answer changes when something that a page shows has changed, and only then."""

import uuid
from datetime import timedelta

import pytest
from django.utils import timezone

from review.crew import activity
from review.marking import selecting
from review.marking.selecting import Mark
from review.models import Job, Membership, WorkedSlot
from review.record import news
from review.work import jobs
from tests.conftest import api_of, browser_of


def slot(person, production, minutes_ago: int, **sums) -> WorkedSlot:
    now = timezone.now().replace(second=0, microsecond=0)
    began = now - timedelta(minutes=now.minute % 5 + minutes_ago)
    return WorkedSlot.objects.create(production=production, person=person, began=began, camera="A", **sums)


def test_it_is_the_same_as_long_as_nothing_happens(cast, a_clip):
    selecting.put(cast.logger, uuid.uuid4(), a_clip, Mark(0, 10), 0)
    slot(cast.logger, cast.kb04, 0, shown=5)
    assert news.of(cast.kb04) == news.of(cast.kb04)


def test_a_mark_is_news_of_selects(cast, a_clip):
    before = news.of(cast.kb04)
    selecting.put(cast.logger, uuid.uuid4(), a_clip, Mark(0, 10), 0)
    now = news.of(cast.kb04)
    assert [about for _, about in now.happened] == ["select"]
    assert (now.watching, now.jobs) == (before.watching, before.jobs)


def test_watching_is_news_with_every_batch(cast):
    seen = {news.of(cast.kb04).watching}
    mine = slot(cast.logger, cast.kb04, 0, shown=5)
    seen.add(news.of(cast.kb04).watching)
    WorkedSlot.objects.filter(id=mine.id).update(shown=9)
    seen.add(news.of(cast.kb04).watching)
    late = slot(cast.editor, cast.kb04, 5, shown=1)  # a batch that comes late
    seen.add(news.of(cast.kb04).watching)
    WorkedSlot.objects.filter(id=late.id).update(fresh_watched=1)
    seen.add(news.of(cast.kb04).watching)
    assert len(seen) == 5


def test_a_job_is_news_when_it_is_asked_for_begins_and_ends_and_not_between(cast, a_clip):
    seen = [news.of(cast.kb04).jobs]
    job = jobs.ask(Job.Kind.PROXY, card=a_clip.card, clip=a_clip, why="a test")
    seen.append(news.of(cast.kb04).jobs)
    run = jobs.claim(job.id)
    seen.append(news.of(cast.kb04).jobs)
    run.progress(5, 50)
    assert news.of(cast.kb04).jobs == seen[-1]
    run.finish()
    seen.append(news.of(cast.kb04).jobs)
    assert len(set(seen)) == 4
    job = jobs.ask(Job.Kind.PICTURES, card=a_clip.card, clip=a_clip, why="a test")
    asked = news.of(cast.kb04).jobs
    jobs.claim(job.id).finish()  # between two answers
    assert news.of(cast.kb04).jobs != asked


def test_nothing_of_another_production_is_news(cast, make_clip):
    other = make_clip(card="NR07-261112-A01", production=cast.nr07)
    job = jobs.ask(Job.Kind.PROXY, card=other.card, clip=other, why="a test")
    before = news.of(cast.kb04)
    jobs.claim(job.id)
    selecting.put(cast.stranger, uuid.uuid4(), other, Mark(0, 10), 0)
    slot(cast.stranger, cast.nr07, 0, shown=5)
    assert news.of(cast.kb04) == before


def test_it_holds_the_newest_only(cast):
    for number in range(news.REMEMBERED + 5):
        activity.happened(cast.kb04, None, "said", str(number), activity.About.CARD)
    ids = [each for each, _ in news.of(cast.kb04).happened]
    assert len(ids) == news.REMEMBERED and ids == sorted(ids, reverse=True)


def test_it_takes_few_questions_however_much_there_is(cast, a_clip, django_assert_num_queries):
    slot(cast.logger, cast.kb04, 0, shown=5)
    for number in range(30):
        selecting.put(cast.logger, uuid.uuid4(), a_clip, Mark(number, number + 1), 0)
    with django_assert_num_queries(6):
        news.of(cast.kb04)


def test_the_workers_progress_is_told_by_card(cast, make_clip):
    one, other = make_clip("A1"), make_clip("B1", card="KB04-261112-B01")
    job = jobs.ask(Job.Kind.PROXY, card=one.card, clip=one, why="a test")
    jobs.ask(Job.Kind.CHECK, card=other.card, why="a test")
    jobs.ask(Job.Kind.PROXY, card=other.card, clip=other, why="a test")
    jobs.claim(job.id).progress(10, 50)
    Job.objects.filter(id=job.id).update(started_at=timezone.now() - timedelta(seconds=20), heartbeat=timezone.now())
    (shown,), waiting = news.working(cast.kb04)
    assert (shown.card, shown.kind, shown.what, shown.done, shown.total) == (one.card_id, "proxy", "A1", 10, 50)
    assert shown.left == pytest.approx(80, abs=1)  # 10 of 50 in 20 seconds
    assert waiting == {other.card_id: 2}
    assert news.working(cast.nr07) == ([], {})


# By the API ----------------------------------------------------------------------------------------


def test_a_page_asks_by_the_api(cast, a_clip):
    selecting.put(cast.logger, uuid.uuid4(), a_clip, Mark(0, 10), 0)
    jobs.ask(Job.Kind.CHECK, card=a_clip.card, why="a test")
    script = api_of(cast.editor)
    told = script.get("/api/v1/news/?production=kb04").json()
    assert set(told) == {"happened", "watching", "jobs"} and told["happened"][0][1] == "select"
    told = script.get("/api/v1/news/?production=KB04&working=yes").json()
    assert told["running"] == [] and told["waiting"] == {str(a_clip.card_id): 1}


@pytest.mark.parametrize("code", ["", "KB04", "ZZ99", "%00", "x" * 500])
def test_a_stranger_hears_nothing(cast, code):
    told = api_of(cast.stranger).get(f"/api/v1/news/?production={code}")
    assert told.status_code == 400 and "that you are a member of" in told.json()["detail"]


def test_a_page_that_renews_itself_leaves_what_other_tabs_show(cast):
    Membership.objects.create(production=cast.nr07, person=cast.logger, role="editor")
    browser = browser_of(cast.logger)
    browser.get("/cards/?production=NR07")
    renewed = browser.get("/cards/?production=KB04", headers={"X-Live": "yes"}).content.decode()
    assert "<b>KB04</b>" in renewed and 'action="/cards/scan/?production=NR07"' not in renewed
    assert "<b>NR07</b>" in browser.get("/shelf/").content.decode()
