"""The machines page: what waits, what failed and why, and asking for it again."""

import re
from datetime import timedelta

import pytest
from django.utils import timezone

from review.models import Clip, Copy, Job, Medium, WorkerSeen
from review.refusals import NotAllowed, NotFound, Refusal
from review.running import machines
from review.work import jobs, workers
from tests.conftest import browser_of, long_ago, see


def fail(job: Job, reason: str = "the drive is away") -> Job:
    with jobs.ending(jobs.claim(job.id)):
        raise jobs.JobFailed(reason)
    return job


def queue(name: str) -> machines.Queue:
    return next(each for each in machines.queues() if each.name == name)


def test_it_works(cast, job):
    fail(job)
    page = see(cast.media_manager, "/machines/?production=KB04")
    assert "the drive is away" in page and "A001C001" in page and "1 job<" in page
    assert "said=&quot;failed: the drive is away&quot;" in page  # what its run wrote down
    browser = browser_of(cast.media_manager)
    told = browser.post(f"/machines/jobs/{job.id}/retry/?production=KB04", follow=True)
    assert "The proxy of KB04-261112-A01 A001C001 was asked for again." in told.content.decode()
    assert "whatever failed has been made good" in told.content.decode()
    assert Job.objects.get(state="waiting").clip == job.clip
    assert Clip.objects.get().proxy_state == Clip.ProxyState.WAITING


def test_what_waits_is_counted_with_its_age_and_who_takes_it(job, make_clip):
    later = make_clip("OTHER")
    jobs.ask(Job.Kind.PROXY, card=later.card, clip=later, why="a test")
    long_ago(job, created=timedelta(minutes=5))
    proxies = queue("proxy")
    assert (proxies.waiting, proxies.running, proxies.failed, proxies.workers) == (2, 0, 0, 0)
    assert timedelta(minutes=5) <= timezone.now() - proxies.oldest < timedelta(minutes=6)
    assert proxies.stuck and not queue("check").stuck
    workers.heard("encodes@here", ["proxy", "section"])
    assert not queue("proxy").stuck
    jobs.claim(job.id)
    assert (queue("proxy").waiting, queue("proxy").running) == (1, 1)


@pytest.mark.parametrize("kind", ["clip", "part", "card", "copy"])
def test_a_failure_that_was_made_good_is_not_shown(cast, a_clip, kind):
    card, medium = a_clip.card, Medium.objects.create(production=cast.kb04, volume="x", label="shuttle", kind="disk")
    copy = Copy.objects.create(card=card, medium=medium, folder="/elsewhere")
    ask = {
        "clip": lambda: jobs.ask(Job.Kind.PICTURES, card=card, clip=a_clip, why="a test"),
        "part": lambda: jobs.ask(Job.Kind.SECTION, card=card, clip=a_clip, part=3, why="a test"),
        "card": lambda: jobs.ask(Job.Kind.CHECK, card=card, why="a test"),
        "copy": lambda: jobs.ask(Job.Kind.COPY, card=card, copy=copy, why="a test"),
    }[kind]
    failed = fail(ask())
    others = [
        jobs.ask(Job.Kind.SECTION, card=card, clip=a_clip, part=4, why="a test"),  # another part of the same clip
        jobs.ask(
            Job.Kind.COPY, card=card, copy=Copy.objects.create(card=card, medium=medium, folder="/x"), why="a test"
        ),
    ]
    assert list(machines.failed(cast.kb04)) == [failed] and len(others) == 2
    ask()
    assert not machines.failed(cast.kb04).exists()


def test_asking_again_twice_is_refused_in_words(cast, job):
    fail(job)
    machines.retry_by(cast.owner, job)
    with pytest.raises(Refusal, match="The proxy of KB04-261112-A01 A001C001 was asked for again already"):
        machines.retry_by(cast.owner, job)


def test_all_are_asked_for_again_at_once(cast, a_clip, make_clip):
    for number in range(3):
        clip = make_clip(f"CLIP{number}")
        fail(jobs.ask(Job.Kind.PICTURES, card=clip.card, clip=clip, why="a test"))
    told = browser_of(cast.owner).post("/machines/retry/?production=KB04", follow=True)
    assert "3 jobs asked for again." in told.content.decode()
    assert Job.objects.filter(state="waiting", kind="pictures").count() == 3


def test_a_worker_that_went_silent_or_stopped_is_told_apart(cast):
    for name, ago in (("here", 3), ("silent", 300), ("stopped", 300)):
        workers.heard(name, ["check"])
        WorkerSeen.objects.filter(name=name).update(heard_at=timezone.now() - timedelta(seconds=ago))
    workers.said_goodbye("stopped")
    page = see(cast.owner, "/machines/?production=KB04")
    rows = dict(re.findall(r'class="mono">(\w+)</th>.*?</td>\n<td>(.*?)</td>', page, re.DOTALL))
    assert rows["here"] == "just now" and "silent for 5 min" in rows["silent"] and "as it was asked" in rows["stopped"]


def test_only_those_who_may_see_inside_and_only_their_own(cast, job):
    fail(job)
    for person, refusal in ((cast.logger, NotAllowed), (cast.stranger, NotFound)):
        with pytest.raises(refusal):
            machines.retry_by(person, job)
        with pytest.raises(refusal):
            machines.retry_all_by(person, cast.kb04)
    see(cast.editor, "/machines/?production=KB04", 403)
    page = see(cast.stranger, "/machines/")
    assert "A001C001" not in page and "the drive is away" not in page
    assert not Job.objects.filter(state="waiting").exists()
