"""What must hold after every fault. Each function returns complaints, in words; none is what the tests want.

jobs      waiting, done, or failed with words; a running one only while its worker lives; one open job for a thing
files     what is kept is whole and is what its row says; nothing in the making once it was tidied
marks     each that the server said yes to is there once, as it was said; nothing that nobody sent
"""

import json
from collections import Counter
from pathlib import Path

import av
from django.conf import settings

from review.derived import proxying, sectioning
from review.desk import stringouts
from review.media import lanes
from review.models import Activity, Card, Clip, Findable, Job, ReadFile, Select, Stringout
from review.work import jobs, workshop


def complaints(*, at_rest: bool) -> list[str]:
    """All of it. `at_rest`: no worker is alive, the sweep has been and every job was done or failed."""
    return [*of_jobs(at_rest), *of_cards(at_rest), *of_files(at_rest)]


def of_jobs(at_rest: bool) -> list[str]:
    found = []
    for job in Job.objects.select_related("clip", "card", "stringout"):
        name = f"job {job.id} ({job}) is {job.state}"
        if at_rest and job.state in jobs.OPEN:
            found.append(f"{name} at rest")
        if job.state == Job.State.FAILED and not (job.error and job.finished_at):
            found.append(f"{name} without a word")
        if job.state == Job.State.DONE and (job.error or not job.finished_at):
            found.append(f"{name} and says {job.error!r}, ended {job.finished_at}")
        if job.state == Job.State.WAITING and job.claim:
            found.append(f"{name} and held")
        if job.attempts > jobs.MOST_ATTEMPTS:
            found.append(f"{name} after {job.attempts} tries")
    about = [(j.kind, j.card_id, j.clip_id, j.copy_id, j.stringout_id, j.part) for j in _open()]
    found += [f"two open jobs for {each}" for each, times in Counter(about).items() if times > 1]
    left = ReadFile.objects.filter(job__state=Job.State.DONE).count()
    return [*found, *([f"{left} readings of checks that are done"] if left else [])]


def _open():
    return Job.objects.filter(state__in=jobs.OPEN)


def of_cards(at_rest: bool) -> list[str]:
    found = []
    for card in Card.objects.all():
        here = sorted(path.relative_to(card.folder) for path in Path(card.folder).rglob("*") if path.is_file())
        if card.trusted:
            rows = sorted(Path(path) for path in card.files.filter(here=True).values_list("path", flat=True))
            if rows != here:
                found.append(f"{card.name} is {card.state} with {len(rows)} files, and {len(here)} are there")
        if at_rest and card.state == Card.State.CHECKING:
            found.append(f"{card.name} is being checked by nobody")
        if card.state == Card.State.HELD and not card.findings:
            found.append(f"{card.name} is held without a word")
    for name, times in Counter(Card.objects.values_list("production", "name")).items():
        found += [f"{times} cards {name}"] if times > 1 else []
    return found


def of_files(at_rest: bool) -> list[str]:
    found, home = [], settings.MEDIA_HOME
    known = {str(clip.id): clip for clip in Clip.objects.all()}
    for folder in _inside(home / "clips"):
        found += of_clip(folder, known[folder.name], at_rest) if folder.name in known else [f"{folder} is no clip's"]
    for clip in known.values():
        if (
            clip.proxy_state == Clip.ProxyState.READY
            and not (proxying.media_folder(clip.id) / proxying.PROXY).is_file()
        ):
            found.append(f"{clip} is ready and has no proxy")
        if clip.proxy_state == Clip.ProxyState.FAILED and not clip.proxy_problem:
            found.append(f"{clip} failed without a word")
    made = {str(each.id): each for each in Stringout.objects.all()}
    for folder in _inside(home / "stringouts"):
        if folder.name not in made:
            found.append(f"{folder} is no stringout")
        else:
            found += _of_stringout(folder, made[folder.name])
    found += [f"{each.id} has no file" for each in made.values() if each.file and not stringouts.folder(each).is_dir()]
    if at_rest:
        found += [f"{left} is left in the making" for left in _inside(workshop._making())]
    return found


def of_clip(folder: Path, clip: Clip, at_rest: bool) -> list[str]:
    found = []
    for file in folder.rglob("*"):
        name = file.relative_to(folder)
        if file.is_dir():
            continue
        try:
            if file.name == proxying.PROXY:
                if (counted := pictures(file)) != clip.frames:
                    found.append(f"{clip}: {name} has {counted} of {clip.frames} frames")
            elif sectioning.is_so_far(file.name):
                if (counted := pictures(file)) != int(file.name.split("-")[2]):
                    found.append(f"{clip}: {name} has {counted} frames")
            elif file.suffix == ".mp4" and name.parts[0] == "sections":
                pictures(file)
            elif file.suffix == ".jpg":
                with av.open(str(file)) as picture:
                    next(picture.decode(video=0))
            elif file.name == lanes.FILE or file.suffix == ".json":
                json.loads(file.read_text()) if file.suffix == ".json" else file.read_bytes()
            elif file.name != proxying.PEAKS and file.suffix != ".pcm" and file.name != "in-one-go":
                found.append(f"{clip}: nobody knows {name}")
            if not file.stat().st_size and file.name != "in-one-go":
                found.append(f"{clip}: {name} is empty")
        except (OSError, ValueError, StopIteration, av.FFmpegError) as problem:
            found.append(f"{clip}: {name} is half a file: {problem!r}")
    if at_rest and clip.filmstrip:
        found += [f"{clip}: {name} is missing" for name in clip.filmstrip["files"] if not (folder / name).is_file()]
    return found


def _of_stringout(folder: Path, made: Stringout) -> list[str]:
    name = made.file or stringouts.FILE  # killed before its row said so, it is made again, and over it
    if not made.file and not (folder / name).is_file():
        return []
    wanted = round(made.milliseconds * float(made.list.production.timebase.rate.fraction) / 1000)
    counted = pictures(folder / name)
    return [] if counted == wanted else [f"stringout {made.id} has {counted} of {wanted} frames"]


def pictures(file: Path) -> int:
    """The pictures in a file; raises for half of one."""
    with av.open(str(file)) as container:
        return sum(1 for packet in container.demux(video=0) if packet.size)


def _inside(folder: Path) -> list[Path]:
    return sorted(folder.iterdir()) if folder.is_dir() else []


def of_marks(promised: dict[str, list], sent: set[str]) -> list[str]:
    """`promised`: what the server said yes to last, by id: [in_frame, out_frame, note, version]. `sent`: every id that
    anybody sent at all."""
    rows = {str(s.id): [s.in_frame, s.out_frame, s.note, s.version] for s in Select.objects.all()}
    found = [
        f"{name} was said to be {told} and is {rows.get(name)}"
        for name, told in promised.items()
        if rows.get(name) != told
    ]
    found += [f"nobody sent {name}" for name in rows.keys() - sent]
    written = Counter(
        Activity.objects.filter(about=Activity.About.SELECT, did="marked").values_list("subject", flat=True)
    )
    found += [f"{name} is on record {written[name]} times" for name in rows if written[name] != 1]
    findable = {str(each) for each in Findable.objects.values_list("select", flat=True)}
    found += [f"{name} cannot be found" for name in rows.keys() - findable]
    return found
