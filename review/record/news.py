"""What is new in a production, so cheaply that every open page can ask every few seconds.

An answer says nothing of what is new, only that something is: a page that holds two answers knows from them what to
load again (static/review/js/live-news.js). Its parts, each a few rows by an index, however big the production:

    happened   the newest ids of what happened, with what each was about: cards, selects, lists, stints, notes, people
    watching   a number that changes with every batch of watching that comes in
    jobs       a number that changes when a job is asked for, begins or ends; not with its progress
"""

import zlib
from dataclasses import dataclass
from datetime import timedelta

from django.db.models import Count, Max, Sum
from django.db.models.functions import Coalesce
from django.utils import timezone

from review.models import Activity, Job, Production, WorkedSlot

REMEMBERED = 40  # of what happened; when more came between two answers, a page takes everything for new
_LATE = timedelta(minutes=WorkedSlot.MINUTES)  # a batch may still go into the slot before the newest
MOST_RUNNING = 50  # jobs shown with their progress
MOST_WAITING = 2000  # jobs counted


@dataclass(frozen=True)
class News:
    """Comparable answers: equal as long as nothing is new."""

    happened: list[tuple[int, str]]
    watching: int
    jobs: int


@dataclass(frozen=True)
class Progress:
    """How far a running job is: `done` of `total` bytes (a check, a copy) or frames (the others)."""

    card: int
    kind: str
    what: str  # the clip's or the medium's name; '' for a check
    done: int
    total: int
    left: float | None  # seconds, by its speed so far


def of(production: Production) -> News:
    """What a page asks every few seconds: six queries, whatever happens."""
    return News(happened(production), watching(production), _jobs(production))


def happened(production: Production) -> list[tuple[int, str]]:
    """(id, about) of the newest rows, newest first. A row that was written first and committed last shows up between
    those that are known, so it is not overlooked."""
    return list(Activity.objects.filter(production=production).values_list("id", "about")[:REMEMBERED])


def version(production: Production) -> tuple:
    """Another one whenever what pages sum up of a production may be: for what is remembered meanwhile."""
    return (*latest(production), watching(production))


def latest(production: Production) -> tuple:
    """As `version`, but for watching: for what does not depend on who has seen what."""
    return tuple(Activity.objects.filter(production=production).values_list("id", "at", "about")[:REMEMBERED])


def watching(production: Production) -> int:
    """It changes with every batch that adds to the slots of the last minutes that anybody worked in."""
    # A slot that a clock wrote which was ahead says nothing of what comes now.
    slots = WorkedSlot.objects.filter(production=production, began__lte=timezone.now()).order_by()
    newest = slots.aggregate(began=Max("began"))["began"]
    if newest is None:
        return 0
    sums = slots.filter(began__gte=newest - _LATE).aggregate(
        shown=Sum("shown"), watched=Sum("fresh_watched"), skimmed=Sum("fresh_skimmed")
    )
    return _number(newest, *sums.values())


def _jobs(production: Production) -> int:
    running = Job.objects.filter(state=Job.State.RUNNING).order_by("id")[:MOST_RUNNING]
    ended = Job.objects.filter(finished_at__isnull=False).order_by("-finished_at")[:MOST_RUNNING]
    newest = Job.objects.order_by("-id").values_list("id", flat=True).first()  # of all: a new one is rare enough
    owner = Coalesce("card__production", "stringout__list__production")
    facts = [
        (place, job_id, claim)
        for place, rows in enumerate((running, ended))
        for job_id, claim, whose in rows.values_list("id", "claim", owner)
        if whose == production.id
    ]
    return _number(newest, facts)


def _number(*facts) -> int:
    return zlib.crc32(repr(facts).encode())


def working(production: Production) -> tuple[list[Progress], dict[int, int]]:
    """The jobs that run on cards, with their progress, and how many wait for each card (of the first MOST_WAITING)."""
    running = Job.objects.filter(state=Job.State.RUNNING, card__production=production).order_by("id")
    shown = [_progress(job) for job in running.select_related("clip", "copy__medium")[:MOST_RUNNING]]
    waiting = Job.objects.filter(state=Job.State.WAITING, card__production=production)
    some = waiting.order_by("id").values("id")[:MOST_WAITING]
    by_card = Job.objects.filter(id__in=some).order_by().values("card").annotate(count=Count("id"))
    return shown, {row["card"]: row["count"] for row in by_card}


def _progress(job: Job) -> Progress:
    what = job.clip.name if job.clip else job.copy.medium.label if job.copy else ""
    left = None
    if job.heartbeat and job.started_at and job.total and job.done > job.resumed:
        seconds = (job.heartbeat - job.started_at).total_seconds()
        left = (job.total - job.done) / (job.done - job.resumed) * seconds if seconds > 3 else None
    return Progress(job.card_id, job.kind, what, job.done, job.total, left)
