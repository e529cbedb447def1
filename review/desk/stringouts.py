"""Stringouts: the selects of a list rendered one after another from their proxies, to be looked at away from here.

What is in one is settled when it is asked for, so that a list that changes while a worker is at it does no harm.
"""

import shutil
from pathlib import Path

from django.conf import settings
from django.db import transaction

from review import roles
from review.crew import access, activity
from review.derived import proxying
from review.desk import lists
from review.exports import ExportRefused
from review.media.errors import MediaFailed
from review.media.form import MOST_CHANNELS
from review.media.stringout import Scene, make_stringout
from review.models import Clip, Job, Person, Select, SelectsList, Stringout
from review.refusals import Refusal
from review.work import jobs
from review.work.workshop import publish, workshop_of

LONGEST = 4 * 3600  # seconds
KEPT = 3  # of one list; an older one can be made again
FILE = "stringout.mp4"


def ask(person: Person, selects_list: SelectsList) -> Stringout:
    """Ask a worker for a stringout of the list as it is now. Raises Refusal when it cannot be made."""
    access.require(person, selects_list.production, roles.EXPORT)
    try:
        events = lists.pull(selects_list).events
    except ExportRefused as problem:
        raise Refusal(str(problem), "list") from None
    seconds = float(sum(event.timebase.rate.seconds(event.length) for event in events))
    if seconds > LONGEST:
        raise Refusal(
            f"The list runs for {seconds / 3600:.1f} hours, and a stringout for {LONGEST // 3600} at most: make one of "
            "each section, or of a shorter list.",
            "list",
        )
    clips = _clips([event.select_id for event in events])
    away = sorted({event.clip for event in events if clips[event.select_id].watchable_frames < event.out_frame})
    if away:
        raise Refusal(
            f"The proxy of {', '.join(away[:3])}{' and others' if len(away) > 3 else ''} is not made yet; ask again "
            "when its card says that it can be watched.",
            "list",
        )
    with transaction.atomic():
        made = Stringout.objects.create(
            list=selects_list,
            made_by=person,
            events=[[event.select_id, event.in_frame, event.out_frame] for event in events],
            list_version=selects_list.version,
            milliseconds=round(1000 * seconds),
        )
        jobs.ask(Job.Kind.STRINGOUT, stringout=made, why=f"{person} asked for it")
        activity.happened(
            selects_list.production,
            person,
            "asked for a stringout of",
            f"the list “{selects_list.name}”",
            activity.About.LIST,
            selects_list.id,
        )
    return made


def again(person: Person, stringout: Stringout) -> None:
    """Try once more to make one that failed."""
    access.require(person, stringout.list.production, roles.EXPORT)
    jobs.ask(Job.Kind.STRINGOUT, stringout=stringout, why=f"{person} asked again")


def folder(stringout: Stringout) -> Path:
    return settings.MEDIA_HOME / "stringouts" / str(stringout.id)


def job_of(stringout: Stringout) -> Job | None:
    """The last that was to make it."""
    return stringout.jobs.order_by("-id").first()


def run_stringout(run: jobs.Run) -> None:
    stringout = run.job.stringout
    rate = stringout.list.production.timebase.rate
    try:
        scenes = _scenes(stringout)
        total = max(1, round(stringout.milliseconds * rate.fraction / 1000))
        with workshop_of(run) as workshop:
            make_stringout(scenes, rate, workshop, workshop / FILE, progress=lambda done: run.progress(done, total))
            (workshop / "parts.txt").unlink()
            with transaction.atomic():
                run.hold()
                publish(workshop, folder(stringout))
                Stringout.objects.filter(id=stringout.id).update(file=FILE)
    except (MediaFailed, OSError) as reason:
        raise jobs.JobFailed(f"The stringout of “{stringout.list.name}”: {reason}") from None


def _scenes(stringout: Stringout) -> list[Scene]:
    clips = _clips([select_id for select_id, _, _ in stringout.events])
    scenes = []
    for number, (select_id, in_frame, out_frame) in enumerate(stringout.events, 1):
        clip = clips.get(select_id)
        proxy = clip and proxying.media_folder(clip.id) / (proxying.playable(clip) or proxying.PROXY)
        if clip is None or not proxy.is_file():
            what = f"{clip.name} of {clip.card.name}" if clip else "a clip"
            raise jobs.JobFailed(f"The proxy of {what} is gone. Check its card again, which makes it; then retry.")
        scenes.append(
            Scene(
                proxy,
                clip.timebase,
                clip.start_frame,
                in_frame,
                out_frame,
                min(clip.channels, MOST_CHANNELS),
                f"{number}  {clip.card.name}  {clip.name}",
            )
        )
    return scenes


def _clips(select_ids: list[str]) -> dict[str, Clip]:
    """The clip of each select."""
    of = dict(Select.objects.filter(id__in=select_ids).values_list("id", "clip"))
    clips = Clip.objects.select_related("card").defer("probe", "files", "file_frames").in_bulk(set(of.values()))
    return {str(select_id): clips[clip_id] for select_id, clip_id in of.items()}


def tidy() -> None:
    """Remove what is older than the last few of each list, and folders that no row knows."""
    for selects_list in SelectsList.objects.filter(stringouts__isnull=False).distinct():
        open_ones = Job.objects.filter(stringout__list=selects_list, state__in=jobs.OPEN).values("stringout")
        old = selects_list.stringouts.order_by("-id").values_list("id", flat=True)[KEPT:]
        Stringout.objects.filter(id__in=list(old)).exclude(id__in=open_ones).delete()
    home = settings.MEDIA_HOME / "stringouts"
    if home.is_dir():
        found = list(home.iterdir())  # before the rows: one that is asked for now has its row before its folder
        known = {str(each) for each in Stringout.objects.values_list("id", flat=True)}
        for left in found:
            if left.name not in known:
                shutil.rmtree(left, ignore_errors=True)
