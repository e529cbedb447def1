"""Making what people watch: proxies, then filmstrips and peaks from them.

All of it is derived: it is made in a folder of the run's own and moved into the clip's folder when
whole, so a killed worker leaves nothing there, and it can be thrown away and made again.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict
from pathlib import Path

from django.db import transaction
from django.db.models import Exists, OuterRef

from review.derived import sectioning
from review.media import lanes
from review.media.errors import MediaFailed
from review.media.filmstrip import make_filmstrip
from review.media.frame_match import Match, match_frames
from review.media.peaks import make_peaks
from review.media.proxy import MOST_CHANNELS, ProxyFacts, make_proxy_of
from review.models import Card, Clip, Job
from review.record import watching
from review.work import jobs
from review.work.workshop import (
    check_originals,
    fail_clip,
    media_folder,
    publish,
    recording_of,
    require_trusted,
    tidy,
    workshop_of,
)

__all__ = ["PEAKS", "PROXY", "media_folder", "tidy"]

PROXY = "proxy.mp4"
PEAKS = "peaks.bin"
_DO_NOT_RELY = "do not rely on frame numbers."


def ask_for_proxies(card: Card, *, why: str) -> None:
    """Ask for what the card's clips lack, or have lost: all of it can be made again."""
    for clip in card.clips.all():
        folder = media_folder(clip.id)
        if clip.proxy_state != Clip.ProxyState.READY or not (folder / PROXY).is_file():
            if not sectioning.so_far(clip):
                waiting = {"proxy_state": Clip.ProxyState.WAITING, "proxy_problem": "", "proxied_frames": 0}
                Clip.objects.filter(id=clip.id).update(**waiting)
            jobs.ask(Job.Kind.PROXY, card=card, clip=clip, why=why)
        elif not _has_pictures(clip, folder):
            jobs.ask(Job.Kind.PICTURES, card=card, clip=clip, why=why)


def playable(clip: Clip) -> str | None:
    """The name of the file that shows the clip's first `proxied_frames`; None while there is none."""
    return PROXY if clip.proxy_state == Clip.ProxyState.READY else sectioning.so_far(clip)


def _has_pictures(clip: Clip, folder: Path) -> bool:
    needed = [*(clip.filmstrip or {"files": [""]})["files"], lanes.FILE, *([PEAKS] if clip.channels else [])]
    return all((folder / name).is_file() for name in needed)


def run_proxy(run: jobs.Run) -> None:
    """Make a clip's proxy, or the next of it that can be watched. However it fails, the clip says so; the card's
    other clips go on."""
    with _failing_the_clip(run), workshop_of(run) as workshop:
        _make(run, workshop)


def run_section(run: jobs.Run) -> None:
    """Make a section of a long clip's proxy."""
    with _failing_the_clip(run):
        sectioning.run_section(run)


@contextmanager
def _failing_the_clip(run: jobs.Run) -> Iterator[None]:
    try:
        yield
    except (jobs.JobLost, *jobs.DATABASE_AWAY):
        raise  # it says nothing of the clip
    except (MediaFailed, jobs.JobFailed, OSError) as reason:
        fail_clip(run, str(reason))
        raise jobs.JobFailed(f"{run.job.clip.name}: {reason}") from None
    except Exception:
        fail_clip(run, "a fault in Rushlight")
        raise


def _make(run: jobs.Run, workshop: Path) -> None:
    clip, card = run.job.clip, run.job.card
    require_trusted(card)
    recording = recording_of(clip)
    planned = sectioning.plan_of(clip, recording)
    if len(planned) > 1:
        if clip.proxy_state == Clip.ProxyState.READY and (media_folder(clip.id) / PROXY).is_file():
            return  # a section that came late asked for it
        whole = sectioning.grow(run, workshop, recording, planned)
        if whole:
            _finish(run, workshop, *whole)
        if len(sectioning.plan_of(clip, recording)) > 1:
            return
    check_originals(clip)
    facts = make_proxy_of(
        recording,
        workshop / PROXY,
        progress=lambda done: run.progress(done, clip.frames),
        threads=1,  # two workers on two clips are faster than one on two cores
    )
    _finish(run, workshop, facts, match_frames(recording, workshop / PROXY))


def _finish(run: jobs.Run, workshop: Path, facts: ProxyFacts, match: Match) -> None:
    """Publish a proxy that is whole, with what is to be said of it, and ask for its pictures."""
    with transaction.atomic():
        run.hold()
        clip = Clip.objects.select_for_update(of=("self",)).select_related("card").get(id=run.job.clip_id)
        clip.proxy_state, clip.proxy_problem = Clip.ProxyState.READY, ""
        clip.frame_doubt = _doubt(clip, facts, match)
        if clip.probe["variable_rate"]:
            clip.frames = facts.frames  # it has no others: its addresses are the proxy's
            clip.file_frames = [facts.frames]
            watching.count_seen(clip)
        clip.proxied_frames = clip.frames
        clip.save()
        publish(workshop, media_folder(clip.id))
        jobs.ask(Job.Kind.PICTURES, card=clip.card, clip=clip, why="its proxy was made")
    sectioning.forget(clip.id)


def run_pictures(run: jobs.Run) -> None:
    clip = run.job.clip
    proxy = media_folder(clip.id) / PROXY
    if not proxy.is_file():
        ask_for_proxies(run.job.card, why=f"the proxy of {clip.name} is gone")
        raise jobs.JobFailed(f"{clip.name} has no proxy any more; it is being made again.")
    try:
        with workshop_of(run) as workshop:
            strip = make_filmstrip(
                proxy, clip.timebase, clip.frames, workshop, progress=lambda done: run.progress(done, clip.frames)
            )
            run.progress(clip.frames, clip.frames)
            channels = min(clip.channels, MOST_CHANNELS)  # what the proxy holds
            ears = lanes.Ears(channels) if channels else None
            if ears:
                make_peaks(proxy, clip.timebase, clip.frames, channels, workshop, hear=ears.hear)
            lanes.make_lanes(
                proxy,
                clip.timebase,
                clip.frames,
                workshop,
                ears=ears,
                pictures=clip.kind == Clip.Kind.VIDEO,
                progress=lambda: run.progress(clip.frames, clip.frames),
            )
            with transaction.atomic():
                run.hold()
                made = {"filmstrip": asdict(strip), "has_peaks": channels > 0, "has_lanes": True}
                Clip.objects.filter(id=clip.id).update(**made)
                publish(workshop, media_folder(clip.id))
    except MediaFailed as reason:
        raise jobs.JobFailed(f"{clip.name}: {reason}") from None


def _doubt(clip: Clip, facts: ProxyFacts, match: Match) -> str:
    """Why the clip's frame numbers may not be the original's; nothing for a proxy that was proved."""
    said = []
    if clip.probe["variable_rate"]:
        said.append("The recording's frame rate varies; frame numbers are those of the proxy, made at a constant rate.")
    elif facts.frames != facts.source_frames:
        counted = f"The original holds {facts.source_frames} frames and the proxy {facts.frames}"
        said.append(f"{counted}; {_DO_NOT_RELY}")
    if facts.holes:
        lost, first = sum(hole.frames for hole in facts.holes), facts.holes[0]
        pictures = "One picture" if lost == 1 else f"{lost} pictures"
        held = "after" if not first.first else "before"
        said.append(
            f"{pictures} from about {clip.label(first.first)} could not be decoded; the picture {held} is held, and "
            "those that follow are at their own frames. Copy the clip again from the camera's card if you still can."
        )
    if match.wrong:
        where = clip.label(match.wrong[0])
        said.append(f"At {where} the proxy does not show the original's picture; {_DO_NOT_RELY}")
    elif clip.kind == Clip.Kind.VIDEO and not match.compared:
        said.append(f"The proxy could not be compared with the original; {_DO_NOT_RELY}")
    return " ".join(said)


def fail_abandoned() -> None:
    """Clips whose proxy was given up (its worker died too often) say so, instead of waiting for ever."""
    unmade = (Clip.ProxyState.WAITING, Clip.ProxyState.GROWING)
    making = Job.objects.filter(kind__in=(Job.Kind.PROXY, Job.Kind.SECTION), clip=OuterRef("pk"))
    idle = Clip.objects.filter(proxy_state__in=unmade, card__state__in=Card.TRUSTED)
    idle = idle.filter(Exists(making.filter(state=Job.State.FAILED)), ~Exists(making.filter(state__in=jobs.OPEN)))
    for clip in idle:
        made = clip.jobs.filter(kind__in=(Job.Kind.PROXY, Job.Kind.SECTION))
        last = made.order_by("-finished_at").first()
        if last.state == Job.State.FAILED:
            Clip.objects.filter(id=clip.id).update(proxy_state=Clip.ProxyState.FAILED, proxy_problem=last.error)
