"""Long clips: many workers, killed workers, what can be watched before it is whole, and no wake-up lost."""

import os
from datetime import timedelta
from itertools import count
from pathlib import Path
from threading import Barrier, Thread

import pytest
from django.db import connection

from review import tasks
from review.derived import proxying, sectioning
from review.media import sections
from review.media.errors import MediaFailed
from review.media.sections import SectionFiles
from review.models import Clip, Job
from review.work import jobs
from tests.conftest import api_of, browser_of, check, film, long_ago, see, work_off
from tests.media.clips import INTRA, PCM, damage, make_clip, numbers
from tests.media.conftest import R25

FRAMES = 250  # four sections of 60 frames and one of 10, at two seconds a section


@pytest.fixture(autouse=True)
def short_sections(monkeypatch):
    monkeypatch.setattr(sections.plan, "__defaults__", (2, 3))


@pytest.fixture
def taken(make_card):
    return make_card(frames=FRAMES)


def folder_of(clip) -> Path:
    return proxying.media_folder(clip.id)


def proxy_job(clip) -> Job:
    return Job.objects.filter(kind="proxy", clip=clip, state__in=jobs.OPEN).get()


def waiting(kind: str) -> list[int]:
    return list(Job.objects.filter(kind=kind, state="waiting").order_by("part").values_list("part", flat=True))


def make(clip, *parts: int) -> None:
    for part in parts:
        tasks.work(Job.objects.get(kind="section", clip=clip, part=part, state="waiting").id)


def test_it_works(taken):
    work_off()
    clip = taken.clip
    assert (clip.proxy_state, clip.proxied_frames, clip.frame_doubt) == ("ready", FRAMES, "")
    assert numbers(folder_of(clip) / "proxy.mp4") == list(range(FRAMES))
    assert Job.objects.filter(kind="section", state="done").count() == 5
    assert not Job.objects.exclude(state="done").exists()
    assert not (folder_of(clip) / "sections").exists()
    assert clip.filmstrip and clip.has_peaks


def test_a_short_clip_is_made_in_one_go(make_card):
    taken = make_card(frames=50, proxied=True)
    assert taken.clip.proxied_frames == 50
    assert not Job.objects.filter(kind="section").exists()


def test_it_grows_and_each_length_has_a_file_of_its_own(taken):
    clip = taken.clip
    tasks.work(proxy_job(clip).id)
    assert waiting("section") == [0, 1, 2, 3, 4]
    assert taken.clip.proxy_state == "waiting"

    make(clip, 0)
    tasks.work(proxy_job(clip).id)
    first = taken.clip
    assert (first.proxy_state, first.proxied_frames) == ("growing", 60)
    assert numbers(folder_of(clip) / sectioning.so_far(first)) == list(range(60))

    make(clip, 2)  # not the next one
    tasks.work(proxy_job(clip).id)
    assert taken.clip.proxied_frames == 60
    make(clip, 1)
    tasks.work(proxy_job(clip).id)
    second = taken.clip
    assert second.proxied_frames == 180
    assert numbers(folder_of(clip) / sectioning.so_far(second)) == list(range(180))
    assert (folder_of(clip) / sectioning.so_far(first)).exists()  # a page may still play it

    work_off()
    assert (taken.clip.proxy_state, taken.clip.proxied_frames) == ("ready", FRAMES)
    assert numbers(folder_of(clip) / "proxy.mp4") == list(range(FRAMES))


def test_what_was_played_meanwhile_goes_in_the_end(taken):
    clip = taken.clip
    tasks.work(proxy_job(clip).id)
    make(clip, 0)
    tasks.work(proxy_job(clip).id)
    work_off()
    assert list(folder_of(clip).glob("so-far-*"))
    tasks.sweep()
    assert list(folder_of(clip).glob("so-far-*"))
    for job in Job.objects.filter(kind="proxy"):
        long_ago(job, finished_at=sectioning.KEPT_OPEN)
    tasks.sweep()
    assert not list(folder_of(clip).glob("so-far-*"))
    assert (folder_of(clip) / "proxy.mp4").exists()


def test_a_section_whose_proxy_job_never_came_is_joined_by_the_sweep(taken):
    clip = taken.clip
    tasks.work(proxy_job(clip).id)
    make(clip, *range(5))
    proxy_job(clip).delete()  # it looked a moment too early, and ended
    tasks.sweep()
    work_off()
    assert taken.clip.proxy_state == "ready"


def test_a_worker_killed_in_a_section_loses_that_section_only(taken, monkeypatch):
    clip = taken.clip
    tasks.work(proxy_job(clip).id)
    make(clip, 0, 1, 2)
    killed = Job.objects.get(kind="section", part=3)
    run = jobs.claim(killed.id)  # and nothing more was heard of it
    half = proxying.media_folder(clip.id).parents[1] / "making" / str(run.claim)
    half.mkdir(parents=True)
    (half / "003.mp4").write_bytes(b"half")
    work_off()
    assert taken.clip.proxy_state == "growing"
    long_ago(killed, heartbeat=jobs.SILENT_AFTER + timedelta(seconds=1))
    made = []
    real = sections.make_section
    monkeypatch.setattr(
        sections,
        "make_section",
        lambda recording, section, *rest, **more: (
            made.append(section.number),
            real(recording, section, *rest, **more),
        )[1],
    )
    tasks.sweep()
    work_off()
    assert made == [3]
    assert taken.clip.proxy_state == "ready"
    assert not half.exists()
    assert numbers(folder_of(clip) / "proxy.mp4") == list(range(FRAMES))


def test_a_run_that_was_given_up_publishes_nothing(taken, monkeypatch):
    clip = taken.clip
    tasks.work(proxy_job(clip).id)
    job = Job.objects.get(kind="section", part=0)
    real = sections.make_section

    def slow(*arguments, **more):
        missing = real(*arguments, **more)
        Job.objects.filter(id=job.id).update(state="waiting", claim=None)
        return missing

    monkeypatch.setattr(sections, "make_section", slow)
    tasks.work(job.id)
    assert not list(folder_of(clip).rglob("000.*"))


@pytest.mark.django_db(transaction=True)
def test_two_workers_make_two_sections_at_once(make_card, monkeypatch):
    taken = make_card(frames=FRAMES)
    clip = taken.clip
    tasks.work(proxy_job(clip).id)
    both, real = Barrier(2, timeout=30), sections.make_section

    def together(*arguments, **more):
        both.wait()
        return real(*arguments, **more)

    monkeypatch.setattr(sections, "make_section", together)

    def worker(job_id):
        tasks.work(job_id)
        connection.close()

    chosen = Job.objects.filter(kind="section", part__in=(0, 1)).values_list("id", flat=True)
    workers = [Thread(target=worker, args=[job_id]) for job_id in chosen]
    for each in workers:
        each.start()
    for each in workers:
        each.join()
    monkeypatch.setattr(sections, "make_section", real)
    assert list(Job.objects.filter(id__in=chosen).values_list("state", flat=True)) == ["done", "done"]
    work_off()
    assert numbers(folder_of(clip) / "proxy.mp4") == list(range(FRAMES))


def test_sections_that_do_not_fit_together_are_left_for_one_go(taken, monkeypatch):
    monkeypatch.setattr(sections, "seam_holds", lambda recording, section, folder: section.number != 2)
    work_off()
    assert (taken.clip.proxy_state, taken.clip.frame_doubt) == ("ready", "")
    assert numbers(folder_of(taken.clip) / "proxy.mp4") == list(range(FRAMES))
    assert not (folder_of(taken.clip) / "sections").exists()


def test_a_section_that_cannot_be_made_by_itself_is_left_for_one_go(taken, monkeypatch):
    def refuse(recording, section, *arguments, **more):
        raise MediaFailed("section 3 has 0 pictures, not 51")

    monkeypatch.setattr(sections, "make_section", refuse)
    work_off()
    assert taken.clip.proxy_state == "ready"
    assert not Job.objects.filter(state="failed").exists()


def test_damage_in_a_section_is_told(cast, root):
    path = make_clip_file(root / "KB04-261112-A01" / "A001C001.MOV")
    damage(path, 70, 82)
    card = check(root / "KB04-261112-A01", cast.kb04)
    work_off()
    clip = card.clips.get()
    assert (clip.proxy_state, clip.proxied_frames) == ("ready", 200)
    assert clip.frame_doubt.startswith(
        f"12 pictures from about {clip.label(70)} could not be decoded; the picture before is held, and those that "
        "follow are at their own frames."
    )
    shown = numbers(folder_of(clip) / "proxy.mp4")
    assert shown == [*range(70), *[69] * 12, *range(82, 200)]


def make_clip_file(path: Path) -> Path:
    path.parent.mkdir(parents=True)
    return make_clip(path, R25, *INTRA, *PCM, frames=200)


def test_a_drive_that_is_pulled_out_is_named_and_what_is_there_is_used_again(taken, monkeypatch):
    clip = taken.clip
    tasks.work(proxy_job(clip).id)
    make(clip, 0, 1)
    taken.folder.rename(taken.folder.with_name("away"))
    work_off()
    assert taken.clip.proxy_state == "failed"
    assert "connect the drive with KB04-261112-A01 and ask again" in taken.clip.proxy_problem
    taken.folder.with_name("away").rename(taken.folder)
    made = count()
    real = sections.make_section
    monkeypatch.setattr(sections, "make_section", lambda *rest, **more: (next(made), real(*rest, **more))[1])
    proxying.ask_for_proxies(taken.card, why="a test")
    work_off()
    assert taken.clip.proxy_state == "ready"
    assert next(made) == 3


def test_a_section_that_was_given_up_fails_its_clip(taken, sent):
    tasks.work(proxy_job(taken.clip).id)
    for job in Job.objects.filter(kind="section"):
        for _ in range(jobs.MOST_ATTEMPTS):
            jobs.claim(job.id)
            long_ago(job, heartbeat=jobs.SILENT_AFTER + timedelta(seconds=1))
            jobs.sweep()
    tasks.sweep()
    assert taken.clip.proxy_state == "failed"
    assert taken.clip.proxy_problem.startswith("The worker stopped 4 times while doing this.")


def test_sections_of_another_recording_are_not_joined(taken):
    clip = taken.clip
    tasks.work(proxy_job(clip).id)
    make(clip, 0, 1)
    [old] = (folder_of(clip) / "sections").iterdir()
    film(taken.folder / "CLIP" / "A001C001.MOV", frames=FRAMES, start="11:00:00:00")
    os.utime(taken.folder / "CLIP" / "A001C001.MOV")
    taken.card.files.update(trusted_digest="0" * 32)  # as a check would find it
    tasks.work(proxy_job(clip).id)
    assert not old.exists()
    assert SectionFiles.of(old, 0).pictures.exists() is False
    work_off()
    assert taken.clip.proxy_state == "ready"


def test_a_growing_clip_is_watched_and_its_page_says_how_far(taken, cast):
    clip = taken.clip
    tasks.work(proxy_job(clip).id)
    make(clip, 0)
    tasks.work(proxy_job(clip).id)
    name = sectioning.so_far(taken.clip)
    page = see(cast.logger, f"/clips/{clip.id}/")
    assert f'src="/media/clips/{clip.id}/{name}"' in page or name in page
    assert "can be watched; the rest is being made" in page
    row = api_of(cast.logger).get(f"/api/v1/clips/{clip.id}/").json()
    assert (row["proxy_state"], row["proxied_frames"]) == ("growing", 60)
    assert row["proxy"].endswith(name)
    assert browser_of(cast.logger).get(row["proxy"]).status_code == 200
    assert browser_of(cast.stranger).get(row["proxy"]).status_code == 404
    for other in ("so-far-../proxy.mp4", "so-far-50.txt", "sections", "000.mp4"):
        assert browser_of(cast.logger).get(row["proxy"].replace(name, other)).status_code == 404


def test_the_row_of_a_clip_names_what_can_be_played(make_card, cast):
    taken = make_card(frames=50)

    def rows():
        return api_of(cast.logger).get(f"/api/v1/clips/{taken.clip.id}/").json()

    assert rows()["proxy"] is None
    work_off()
    assert rows()["proxy"].endswith("proxy.mp4")
    assert Clip.objects.get().proxied_frames == rows()["proxied_frames"] == 50
