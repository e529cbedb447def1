"""Long clips: their proxy is made in sections by many workers, and grows while it can be watched already.

    proxy job --asks for--> section jobs: each publishes its files and asks for the proxy job again
        |
        +-- joins the sections that are there from the start: once they have doubled, and all in the end

The proxy job may run at any time and any number of times. What it knows is the files that it finds:

    clips/<id>/sections/<of this recording>/000.mp4, 000.pcm, 000.json    the last is written last
    clips/<id>/sections/<of this recording>/in-one-go                     sections do not fit together here
    clips/<id>/so-far-<frames>-<of this run>.mp4                          what can be watched of it

So a message that is lost, or a section that ends while the proxy job looks, only costs time: `bring_on`
asks again.
"""

import hashlib
import json
import shutil
from collections.abc import Sequence
from dataclasses import asdict
from datetime import timedelta
from pathlib import Path

from django.db import transaction
from django.utils import timezone

from review.media import sections
from review.media.errors import MediaFailed
from review.media.frame_match import Match, match_frames
from review.media.holes import Hole
from review.media.proxy import ProxyFacts
from review.media.recording import Recording
from review.media.sections import Section, SectionFiles
from review.models import Clip, Job
from review.work import jobs
from review.work.workshop import check_originals, media_folder, publish, recording_of, require_trusted, workshop_of

KEPT_OPEN = timedelta(minutes=10)  # for pages that still play what was watched before the proxy was whole
_IN_ONE_GO = "in-one-go"
_SAMPLES = 3  # pictures compared in a section


def plan_of(clip: Clip, recording: Recording) -> list[Section]:
    """The sections to make of a clip; a single one for a clip that is made in one go."""
    planned = sections.plan(recording)
    return planned[:1] if len(planned) > 1 and (_folder(clip, planned) / _IN_ONE_GO).exists() else planned


def run_section(run: jobs.Run) -> None:
    """Make one section, and have the proxy job look at it."""
    clip, card = run.job.clip, run.job.card
    require_trusted(card)
    recording = recording_of(clip)
    planned = plan_of(clip, recording)
    if len(planned) == 1 or run.job.part >= len(planned):
        return  # the clip was cut otherwise since this was asked for
    section = planned[run.job.part]
    folder = _folder(clip, planned)
    if _is_there(folder, section):
        jobs.ask(Job.Kind.PROXY, card=card, clip=clip, why=f"section {section.number} is there")
        return
    check_originals(clip)
    with workshop_of(run) as workshop:
        try:
            made = _make(run, recording, section, workshop)
        except MediaFailed:
            made = False
        with transaction.atomic():
            run.hold()
            if made:
                publish(workshop, folder)
                _note(workshop, section).write_text(json.dumps(made))
                publish(workshop, folder)  # last, because it says that the others are there
            else:
                _give_up(folder)
            jobs.ask(Job.Kind.PROXY, card=card, clip=clip, why=f"section {section.number} was made")


def _make(run: jobs.Run, recording: Recording, section: Section, workshop: Path) -> dict | None:
    """What is known of a section that was made; None for one whose pictures are not those of its frames."""
    frames = section.end - section.first
    missing = sections.make_section(recording, section, workshop, progress=lambda done: run.progress(done, frames))
    pictures = SectionFiles.of(workshop, section.number).pictures
    match = match_frames(recording, pictures, section.first, section.end, _SAMPLES)
    if match.wrong and not missing:
        return None
    return {"holes": [asdict(hole) for hole in missing], "compared": match.compared, "wrong": match.wrong}


def grow(
    run: jobs.Run, workshop: Path, recording: Recording, planned: Sequence[Section]
) -> tuple[ProxyFacts, Match] | None:
    """Bring a clip's proxy as far as its sections go: once it is whole it is in `workshop`, and this is what is known.

    None while sections are missing, which are asked for, or when they do not fit together: `plan_of` says so then.
    """
    clip = run.job.clip
    folder = _folder(clip, planned)
    _forget_others(folder)
    while True:
        lead = _lead(folder, planned)
        whole = len(lead) == len(planned)
        if not whole:
            _ask_for_missing(run, planned, folder)
            if not lead or lead[-1].end < 2 * _frames_so_far(clip):
                return None
        if not all(sections.seam_holds(recording, section, folder) for section in lead[:-1]):
            _give_up(folder)
            return None
        if whole:
            return _join_all(recording, planned, folder, workshop)
        _publish_so_far(run, recording, lead, folder, workshop)
        clip.refresh_from_db()


def so_far(clip: Clip) -> str | None:
    """The name of the file in which a growing clip can be watched."""
    if clip.proxy_state != Clip.ProxyState.GROWING:
        return None
    found = sorted(
        media_folder(clip.id).glob(f"so-far-{clip.proxied_frames}-*.mp4"), key=lambda each: each.stat().st_mtime
    )
    return found[-1].name if found else None


def is_so_far(name: str) -> bool:
    """Whether a file of a clip's folder holds, or held, the beginning of its proxy."""
    return name.startswith("so-far-") and name.endswith(".mp4") and "/" not in name


def bring_on() -> None:
    """Have the proxy job look again at clips that nothing is being done about, though sections were made."""
    idle = Clip.objects.filter(proxy_state__in=(Clip.ProxyState.WAITING, Clip.ProxyState.GROWING))
    made = Job.objects.filter(kind=Job.Kind.SECTION)
    busy = Job.objects.filter(kind__in=(Job.Kind.PROXY, Job.Kind.SECTION), state__in=jobs.OPEN)
    for clip in idle.filter(id__in=made.values("clip")).exclude(id__in=busy.values("clip")).select_related("card"):
        if clip.card.trusted:
            jobs.ask(Job.Kind.PROXY, card=clip.card, clip=clip, why="its sections wait to be joined")


def forget(clip_id: int) -> None:
    """Remove a clip's sections; what could be watched meanwhile stays for a while (`tidy`)."""
    shutil.rmtree(media_folder(clip_id) / "sections", ignore_errors=True)


def tidy() -> None:
    """Remove what was watched of clips while they grew, when their proxies have been there for a while."""
    now = timezone.now()
    ended = Job.objects.filter(
        kind=Job.Kind.PROXY,
        state=Job.State.DONE,
        clip__proxy_state=Clip.ProxyState.READY,
        finished_at__lt=now - KEPT_OPEN,
        finished_at__gt=now - KEPT_OPEN - timedelta(hours=1),
    )
    for clip_id in set(ended.filter(clip__jobs__kind=Job.Kind.SECTION).values_list("clip", flat=True)):
        forget(clip_id)
        for left in media_folder(clip_id).glob("so-far-*.mp4"):
            left.unlink(missing_ok=True)


def _frames_so_far(clip: Clip) -> int:
    return clip.proxied_frames if so_far(clip) else 0


def _lead(folder: Path, planned: Sequence[Section]) -> list[Section]:
    """The sections that are there from the start without a gap."""
    missing = next((number for number, section in enumerate(planned) if not _is_there(folder, section)), len(planned))
    return list(planned[:missing])


def _ask_for_missing(run: jobs.Run, planned: Sequence[Section], folder: Path) -> None:
    clip = run.job.clip
    with transaction.atomic():
        run.hold()
        Clip.objects.filter(id=clip.id, proxy_state=Clip.ProxyState.FAILED).update(
            proxy_state=Clip.ProxyState.WAITING, proxy_problem=""
        )
        asked = clip.jobs.filter(kind=Job.Kind.SECTION, state__in=jobs.OPEN).values_list("part", flat=True)
        asked = set(asked)
        for section in planned:
            if section.number not in asked and not _is_there(folder, section):
                why = f"the proxy is made in {len(planned)} sections"
                jobs.ask(Job.Kind.SECTION, card=run.job.card, clip=clip, part=section.number, why=why)


def _publish_so_far(run: jobs.Run, recording: Recording, lead: Sequence[Section], folder: Path, workshop: Path) -> None:
    clip = run.job.clip
    name = f"so-far-{lead[-1].end}-{run.claim.hex[:8]}.mp4"
    frames = sections.join(recording, lead, folder, workshop / name)
    with transaction.atomic():
        run.hold()
        before = so_far(clip)
        Clip.objects.filter(id=clip.id).update(
            proxy_state=Clip.ProxyState.GROWING, proxied_frames=frames, proxy_problem="", frame_doubt=""
        )
        publish(workshop, media_folder(clip.id))
    for old in media_folder(clip.id).glob("so-far-*.mp4"):
        if old.name not in (name, before):  # a page may play the one before
            old.unlink(missing_ok=True)


def _join_all(
    recording: Recording, planned: Sequence[Section], folder: Path, workshop: Path
) -> tuple[ProxyFacts, Match]:
    frames = sections.join(recording, planned, folder, workshop / "proxy.mp4")
    notes = [json.loads(_note(folder, section).read_text()) for section in planned]
    missing = [Hole(**hole) for note in notes for hole in note["holes"]]
    match = Match(
        tuple(frame for note in notes for frame in note["compared"]),
        tuple(frame for note in notes for frame in note["wrong"]),
    )
    return ProxyFacts.of(recording, frames, missing), match


def _give_up(folder: Path) -> None:
    """This recording's sections do not fit together: it is made in one go."""
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(parents=True, exist_ok=True)
    (folder / _IN_ONE_GO).touch()


def _folder(clip: Clip, planned: Sequence[Section]) -> Path:
    """Sections of another recording, or cut elsewhere, are never joined with these."""
    paths = [*clip.files, *(path for beside in clip.sound_files for path in beside)]
    files = list(clip.card.files.filter(path__in=paths).order_by("path").values_list("path", "size", "trusted_digest"))
    about = json.dumps([files, clip.probe, [asdict(section) for section in planned]], sort_keys=True)
    return media_folder(clip.id) / "sections" / hashlib.sha256(about.encode()).hexdigest()[:16]


def _forget_others(folder: Path) -> None:
    if folder.parent.is_dir():
        for other in folder.parent.iterdir():
            if other != folder:
                shutil.rmtree(other, ignore_errors=True)


def _note(folder: Path, section: Section) -> Path:
    return folder / f"{section.number:03}.json"


def _is_there(folder: Path, section: Section) -> bool:
    return _note(folder, section).is_file()
