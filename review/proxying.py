"""Making what people watch: proxies, then filmstrips and peaks from them.

All of it is derived: it is made in a folder of the run's own and moved into the clip's folder when
whole, so a killed worker leaves nothing there, and it can be thrown away and made again.
"""

import shutil
import stat
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict
from pathlib import Path

from django.conf import settings
from django.db import transaction
from django.db.models import Exists, OuterRef

from review import jobs, watching
from review.media.errors import MediaFailed
from review.media.filmstrip import make_filmstrip
from review.media.peaks import make_peaks
from review.media.probe import Probe
from review.media.proxy import MOST_CHANNELS, make_proxy
from review.models import Card, Clip, Job

PROXY = "proxy.mp4"
PEAKS = "peaks.bin"


def media_folder(clip_id: int) -> Path:
    return settings.MEDIA_HOME / "clips" / str(clip_id)


def _making() -> Path:
    return settings.MEDIA_HOME / "making"


def ask_for_proxies(card: Card, *, why: str) -> None:
    """Ask for what the card's clips lack, or have lost: all of it can be made again."""
    for clip in card.clips.all():
        folder = media_folder(clip.id)
        if clip.proxy_state != Clip.ProxyState.READY or not (folder / PROXY).is_file():
            Clip.objects.filter(id=clip.id).update(proxy_state=Clip.ProxyState.WAITING, proxy_problem="")
            jobs.ask(Job.Kind.PROXY, card=card, clip=clip, why=why)
        elif not _has_pictures(clip, folder):
            jobs.ask(Job.Kind.PICTURES, card=card, clip=clip, why=why)


def _has_pictures(clip: Clip, folder: Path) -> bool:
    needed = [*(clip.filmstrip or {"files": [""]})["files"], *([PEAKS] if clip.channels else [])]
    return all((folder / name).is_file() for name in needed)


def run_proxy(run: jobs.Run) -> None:
    """Make a clip's proxy. However it fails, the clip says so; the card's other clips go on."""
    try:
        with _workshop(run) as workshop:
            _make(run, workshop)
    except jobs.JobLost:
        raise
    except (MediaFailed, jobs.JobFailed, OSError) as reason:
        _fail_clip(run, str(reason))
        raise jobs.JobFailed(f"{run.job.clip.name}: {reason}") from None
    except Exception:
        _fail_clip(run, "a fault in Rushlight")
        raise


def _fail_clip(run: jobs.Run, reason: str) -> None:
    with transaction.atomic():
        run.hold()  # a run that was given up does not fail what its successor makes
        Clip.objects.filter(id=run.job.clip_id).update(proxy_state=Clip.ProxyState.FAILED, proxy_problem=reason)


def _make(run: jobs.Run, workshop: Path) -> None:
    clip, card = run.job.clip, run.job.card
    if not card.trusted:
        raise jobs.JobFailed(f"{card.name} is {card.state}: proxies are made of verified or accepted cards only.")
    probe = Probe.from_dict(clip.probe)
    facts = make_proxy(
        _originals(card, clip),
        probe,
        clip.timebase,
        workshop / PROXY,
        progress=lambda done: run.progress(done, clip.frames),
        threads=1,  # two workers on two clips are faster than one on two cores
    )
    with transaction.atomic():
        run.hold()
        clip = Clip.objects.select_for_update().get(id=clip.id)
        clip.proxy_state, clip.proxy_problem = Clip.ProxyState.READY, ""
        clip.frame_doubt = _doubt(probe, clip.frames, facts.frames)
        if probe.variable_rate:
            clip.frames = facts.frames  # it has no others: its addresses are the proxy's
            clip.file_frames = [facts.frames]
            watching.count_seen(clip)
        clip.save()
        _publish(workshop, clip)
        jobs.ask(Job.Kind.PICTURES, card=card, clip=clip, why="its proxy was made")


def run_pictures(run: jobs.Run) -> None:
    clip = run.job.clip
    proxy = media_folder(clip.id) / PROXY
    if not proxy.is_file():
        ask_for_proxies(run.job.card, why=f"the proxy of {clip.name} is gone")
        raise jobs.JobFailed(f"{clip.name} has no proxy any more; it is being made again.")
    try:
        with _workshop(run) as workshop:
            strip = make_filmstrip(
                proxy, clip.timebase, clip.frames, workshop, progress=lambda done: run.progress(done, clip.frames)
            )
            run.progress(clip.frames, clip.frames)
            channels = min(clip.channels, MOST_CHANNELS)  # what the proxy holds
            make_peaks(proxy, clip.timebase, clip.frames, channels, workshop)
            with transaction.atomic():
                run.hold()
                Clip.objects.filter(id=clip.id).update(filmstrip=asdict(strip), has_peaks=channels > 0)
                _publish(workshop, clip)
    except MediaFailed as reason:
        raise jobs.JobFailed(f"{clip.name}: {reason}") from None


def _originals(card: Card, clip: Clip) -> list[Path]:
    """The clip's files, if they still are what was checked."""
    known = dict(card.files.filter(path__in=clip.files).values_list("path", "size"))
    return [_original(card, path, known.get(path)) for path in clip.files]


def _original(card: Card, path: str, size: int | None) -> Path:
    original = Path(card.folder) / path
    try:
        facts = original.lstat()
    except OSError as problem:
        raise jobs.JobFailed(
            f"{path} cannot be read ({problem.strerror}); connect the drive with {card.name} and ask again."
        ) from None
    if not stat.S_ISREG(facts.st_mode) or facts.st_size != size:
        raise jobs.JobFailed(f"{path} is not what was checked; check {card.name} again.")
    return original


def _doubt(probe: Probe, counted: int, proxied: int) -> str:
    if probe.variable_rate:
        return "The recording's frame rate varies; frame numbers are those of the proxy, made at a constant rate."
    if proxied != counted:
        return f"The original holds {counted} frames and the proxy {proxied}; do not rely on frame numbers."
    return ""


@contextmanager
def _workshop(run: jobs.Run) -> Iterator[Path]:
    folder = _making() / str(run.claim)
    folder.mkdir(parents=True, exist_ok=True)
    try:
        yield folder
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def _publish(workshop: Path, clip: Clip) -> None:
    folder = media_folder(clip.id)
    folder.mkdir(parents=True, exist_ok=True)
    for made in workshop.iterdir():
        made.replace(folder / made.name)


def tidy() -> None:
    """Remove what runs that were killed left in the making."""
    if not _making().is_dir():
        return
    found = list(_making().iterdir())  # before the runs: one that starts now has its row before its folder
    alive = {str(claim) for claim in Job.objects.filter(state=Job.State.RUNNING).values_list("claim", flat=True)}
    for left in found:
        if left.name not in alive:
            shutil.rmtree(left, ignore_errors=True)


def fail_abandoned() -> None:
    """Clips whose proxy was given up (its worker died too often) say so, instead of waiting for ever."""
    waiting = Clip.objects.filter(proxy_state=Clip.ProxyState.WAITING, card__state__in=Card.TRUSTED)
    proxies = Job.objects.filter(kind=Job.Kind.PROXY, clip=OuterRef("pk"))
    for clip in waiting.filter(
        Exists(proxies.filter(state=Job.State.FAILED)), ~Exists(proxies.filter(state__in=jobs.OPEN))
    ):
        reason = clip.jobs.filter(kind=Job.Kind.PROXY, state=Job.State.FAILED).first().error
        Clip.objects.filter(id=clip.id).update(proxy_state=Clip.ProxyState.FAILED, proxy_problem=reason)
