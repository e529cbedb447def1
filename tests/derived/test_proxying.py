"""Making proxies, filmstrips and peaks: what fails is named, what is lost is made again, nothing is left half done.

How they are made is tested in tests/media.
"""

import shutil
import wave
from datetime import timedelta

import numpy as np

from review import tasks
from review.derived import proxying
from review.media.errors import MediaFailed
from review.models import Clip, Job
from review.work import jobs
from tests.conftest import check, film, long_ago, work_off


def test_a_lost_runs_proxy_is_not_kept(make_card, settings, monkeypatch):
    taken = make_card()
    proxy = Job.objects.get(kind="proxy")
    real = proxying.make_proxy_of

    def slow(*arguments, **more):
        facts = real(*arguments, **more)
        Job.objects.filter(id=proxy.id).update(state=Job.State.WAITING, claim=None)  # given up for dead meanwhile
        return facts

    monkeypatch.setattr(proxying, "make_proxy_of", slow)
    tasks.work(proxy.id)
    proxy.refresh_from_db()
    assert (proxy.state, taken.clip.proxy_state) == ("waiting", "waiting")
    assert not proxying.media_folder(taken.clip.id).exists()
    assert list((settings.MEDIA_HOME / "making").iterdir()) == []


def test_a_clip_that_cannot_be_proxied_is_named_and_the_others_go_on(cast, root, monkeypatch):
    film(root / "KB04-261112-A01" / "GOOD.MOV")
    film(root / "KB04-261112-A01" / "BAD.MOV", size=(160, 90))
    check(root / "KB04-261112-A01", cast.kb04)
    real = proxying.make_proxy_of

    def make(recording, destination, **more):  # ffmpeg itself must refuse this one
        if recording.parts[0].files[0].name == "BAD.MOV":
            destination = destination.parent / "no such folder" / destination.name
        return real(recording, destination, **more)

    monkeypatch.setattr(proxying, "make_proxy_of", make)
    work_off()
    good, bad = Clip.objects.get(name="GOOD"), Clip.objects.get(name="BAD")
    assert (good.proxy_state, bad.proxy_state) == ("ready", "failed")
    assert "ffmpeg failed:" in bad.proxy_problem and "No such file or directory" in bad.proxy_problem
    assert Job.objects.get(clip=bad).error == f"BAD: {bad.proxy_problem}"
    monkeypatch.undo()
    proxying.ask_for_proxies(bad.card, why="asked again")
    work_off()
    bad.refresh_from_db()
    assert (bad.proxy_state, bad.proxy_problem) == ("ready", "")


def test_proxies_are_not_made_of_a_card_that_is_not_trusted(make_card):
    taken = make_card()
    taken.card.state = "held"
    taken.card.save()
    work_off()
    assert Job.objects.get(kind="proxy").error.endswith(
        "KB04-261112-A01 is held: proxies are made of verified or accepted cards only."
    )


def test_a_drive_that_is_away_is_named(make_card):
    taken = make_card()
    taken.folder.rename(taken.folder.with_name("away"))
    work_off()
    assert "connect the drive with KB04-261112-A01 and ask again" in Job.objects.get(kind="proxy").error


def test_a_proxy_that_was_thrown_away_is_made_again(make_card):
    taken = make_card(proxied=True)
    folder = proxying.media_folder(taken.clip.id)
    made = {path.name for path in folder.iterdir()}
    shutil.rmtree(folder)
    jobs.ask(Job.Kind.PICTURES, card=taken.card, clip=taken.clip, why="a test")
    work_off()
    assert "has no proxy any more; it is being made again" in Job.objects.get(state="failed").error
    assert {path.name for path in folder.iterdir()} == made
    assert taken.clip.proxy_state == "ready"


def test_what_is_lost_of_a_clip_is_made_again(make_card):
    taken = make_card(proxied=True)
    folder = proxying.media_folder(taken.clip.id)
    for name in (proxying.PROXY, proxying.PEAKS, taken.clip.filmstrip["files"][0]):
        (folder / name).unlink()
        proxying.ask_for_proxies(taken.card, why="a test")
        work_off()
        assert (folder / name).is_file(), name
    before = Job.objects.count()
    proxying.ask_for_proxies(taken.card, why="a test")
    assert Job.objects.count() == before  # there is nothing to make


def test_a_lost_run_that_fails_does_not_fail_its_clip(make_card, monkeypatch):
    taken = make_card()
    proxy = Job.objects.get(kind="proxy")

    def fail(*arguments, **more):
        Job.objects.filter(id=proxy.id).update(claim="6f1c8a52-27b0-4c2c-8f53-1a2b3c4d5e6f")  # another run's now
        raise MediaFailed("ffmpeg failed: killed")

    monkeypatch.setattr(proxying, "make_proxy_of", fail)
    tasks.work(proxy.id)
    assert (taken.clip.proxy_state, taken.clip.proxy_problem) == ("waiting", "")


def test_a_clip_whose_proxy_was_given_up_says_so(make_card, sent):
    taken = make_card()
    proxy = Job.objects.get(kind="proxy")
    for _ in range(jobs.MOST_ATTEMPTS):
        jobs.claim(proxy.id)
        long_ago(proxy, heartbeat=jobs.SILENT_AFTER + timedelta(seconds=1))
        tasks.sweep()
    assert taken.clip.proxy_state == "failed"
    assert taken.clip.proxy_problem.startswith("The worker stopped 4 times while doing this.")


def test_what_killed_runs_left_is_removed_and_what_is_being_made_stays(job, settings):
    run = jobs.claim(job.id)
    making = settings.MEDIA_HOME / "making"
    for name in (str(run.claim), "0f0f0f0f-dead"):
        (making / name).mkdir(parents=True)
        (making / name / "proxy.mp4").write_bytes(b"half")
    tasks.sweep()
    assert [path.name for path in making.iterdir()] == [str(run.claim)]
    run.finish()
    proxying.tidy()
    assert list(making.iterdir()) == []


def test_there_may_be_nothing_to_tidy(db):
    proxying.tidy()


def test_a_recorder_with_more_channels_than_a_proxy_holds_has_an_outline_of_those_it_does(cast, root):
    """Twelve channels, of which only the second sounds: in the proxy's eight it is still the second."""
    samples = np.zeros((48_000, 12), dtype="<i2")
    samples[:, 1] = 20_000 * np.sin(2 * np.pi * 440 * np.arange(48_000) / 48_000)
    (root / "KB04-261112-S01").mkdir()
    with wave.open(str(root / "KB04-261112-S01" / "T001.WAV"), "wb") as file:
        file.setnchannels(12)
        file.setsampwidth(2)
        file.setframerate(48_000)
        file.writeframes(samples.tobytes())
    card = check(root / "KB04-261112-S01", cast.kb04)
    work_off()
    clip = card.clips.get()
    assert (clip.channels, clip.frames, clip.has_peaks) == (12, 25, True)
    outline = (proxying.media_folder(clip.id) / proxying.PEAKS).read_bytes()
    assert len(outline) == 25 * 8
    middle = outline[12 * 8 : 13 * 8]
    assert max(range(8), key=middle.__getitem__) == 1 and middle[1] > 100
