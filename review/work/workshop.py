"""Where what is derived from a clip is made, and where it is kept.

It is made in a folder of the run's own and moved to where it is kept when whole, so a killed worker
leaves nothing there.
"""

import shutil
import stat
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from django.conf import settings
from django.db import transaction

from review.media.probe import Probe
from review.media.recording import Recording
from review.models import Card, Clip, Job
from review.work import jobs


def media_folder(clip_id: int) -> Path:
    return settings.MEDIA_HOME / "clips" / str(clip_id)


@contextmanager
def workshop_of(run: jobs.Run) -> Iterator[Path]:
    """A folder of the run's own, gone afterwards."""
    folder = _making() / str(run.claim)
    folder.mkdir(parents=True, exist_ok=True)
    try:
        yield folder
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def publish(workshop: Path, folder: Path) -> None:
    """Move what was made to where it is kept."""
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


def _making() -> Path:
    return settings.MEDIA_HOME / "making"


def fail_clip(run: jobs.Run, reason: str) -> None:
    """The clip has no proxy, and says why."""
    with transaction.atomic():
        run.hold()  # a run that was given up does not fail what its successor makes
        Clip.objects.filter(id=run.job.clip_id).update(proxy_state=Clip.ProxyState.FAILED, proxy_problem=reason)


def recording_of(clip: Clip) -> Recording:
    """The clip's recording by the paths of its originals, whether or not they are there."""
    folder = Path(clip.card.folder)
    beside = [[folder / path for path in paths] for paths in clip.sound_files]
    files = [folder / path for path in clip.files]
    return Recording.of(files, Probe.from_dict(clip.probe), clip.timebase, clip.file_frames, beside)


def check_originals(clip: Clip) -> None:
    """Raises JobFailed unless the clip's files, and the sound beside them, still are what was checked."""
    paths = [*clip.files, *(path for beside in clip.sound_files for path in beside)]
    known = dict(clip.card.files.filter(path__in=paths).values_list("path", "size"))
    for path in paths:
        try:
            facts = (Path(clip.card.folder) / path).lstat()
        except OSError as problem:
            raise jobs.JobFailed(
                f"{path} cannot be read ({problem.strerror}); connect the drive with {clip.card.name} and ask again."
            ) from None
        if not stat.S_ISREG(facts.st_mode) or facts.st_size != known.get(path):
            raise jobs.JobFailed(f"{path} is not what was checked; check {clip.card.name} again.")


def require_trusted(card: Card) -> None:
    if not card.trusted:
        raise jobs.JobFailed(f"{card.name} is {card.state}: proxies are made of verified or accepted cards only.")
