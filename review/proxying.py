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

from review import jobs, watching
from review.media.errors import MediaFailed
from review.media.filmstrip import make_filmstrip
from review.media.peaks import make_peaks
from review.media.probe import Probe
from review.media.proxy import make_proxy
from review.models import Card, Clip, Job

PROXY = "proxy.mp4"
PEAKS = "peaks.bin"


def media_folder(clip_id: int) -> Path:
    return settings.MEDIA_HOME / "clips" / str(clip_id)


def _making() -> Path:
    return settings.MEDIA_HOME / "making"


def ask_for_proxies(card: Card, *, why: str) -> None:
    """Ask for what the card's clips lack."""
    for clip in card.clips.exclude(proxy_state=Clip.ProxyState.READY):
        clip.proxy_state = Clip.ProxyState.WAITING
        clip.save(update_fields=["proxy_state"])
        jobs.ask(Job.Kind.PROXY, card=card, clip=clip, why=why)


def run_proxy(run: jobs.Run) -> None:
    clip, card = run.job.clip, run.job.card
    if not card.trusted:
        raise jobs.JobFailed(f"{card.name} is {card.state}: proxies are made of verified or accepted cards only.")
    try:
        with _workshop(run) as workshop:
            facts = make_proxy(
                _originals(card, clip),
                Probe.from_dict(clip.probe),
                clip.timebase,
                workshop / PROXY,
                progress=lambda done: run.progress(done, clip.frames),
            )
            with transaction.atomic():
                run.hold()
                clip = Clip.objects.select_for_update().get(id=clip.id)
                clip.proxy_state, clip.proxy_problem = Clip.ProxyState.READY, ""
                clip.frame_doubt = _doubt(clip, facts.frames)
                if Probe.from_dict(clip.probe).variable_rate:
                    clip.frames = facts.frames  # it has no others: its addresses are the proxy's
                    watching.count_seen(clip)
                clip.save()
                _publish(workshop, clip)
                jobs.ask(Job.Kind.PICTURES, card=card, clip=clip, why="its proxy was made")
    except (MediaFailed, jobs.JobFailed) as reason:
        with transaction.atomic():
            run.hold()
            Clip.objects.filter(id=clip.id).update(proxy_state=Clip.ProxyState.FAILED, proxy_problem=str(reason))
        raise jobs.JobFailed(f"{clip.name}: {reason}") from None


def run_pictures(run: jobs.Run) -> None:
    clip = run.job.clip
    proxy = media_folder(clip.id) / PROXY
    if not proxy.is_file():
        raise jobs.JobFailed(f"{clip.name} has no proxy any more; ask for its proxy again.")
    try:
        with _workshop(run) as workshop:
            strip = make_filmstrip(
                proxy, clip.timebase, clip.frames, workshop, progress=lambda done: run.progress(done, clip.frames)
            )
            run.progress(clip.frames, clip.frames)
            has_peaks = clip.channels > 0
            if has_peaks:
                make_peaks(proxy, clip.timebase, clip.frames, clip.channels, workshop)
            with transaction.atomic():
                run.hold()
                Clip.objects.filter(id=clip.id).update(filmstrip=asdict(strip), has_peaks=has_peaks)
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


def _doubt(clip: Clip, proxied: int) -> str:
    if Probe.from_dict(clip.probe).variable_rate:
        return "The recording's frame rate varies; frame numbers are those of the proxy, made at a constant rate."
    if proxied != clip.frames:
        return f"The original holds {clip.frames} frames and the proxy {proxied}; do not rely on frame numbers."
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
    alive = {str(claim) for claim in Job.objects.filter(state=Job.State.RUNNING).values_list("claim", flat=True)}
    for left in _making().iterdir():
        if left.name not in alive:
            shutil.rmtree(left, ignore_errors=True)
