"""The small fixed cast: one production with a person in every role, and a stranger in another one."""

import shutil
import subprocess
import tempfile
import uuid
from dataclasses import dataclass
from datetime import timedelta
from functools import cache
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from django.conf import settings as site
from django.test import Client
from django.utils import timezone
from rest_framework.test import APIClient

from review import roles, tasks
from review.cards.names import parse_card_name
from review.cards.reels import reel_for
from review.crew import people, tokens
from review.custody import intake
from review.demo.frame_number import paint_number
from review.desk import lists
from review.marking import selecting
from review.media.ffmpeg import ffmpeg_binary
from review.models import Card, Clip, Job, Person, Production
from review.tasks import work
from review.timecode import Rate, Timebase
from review.work import jobs

pytest_plugins = ["tests.ascmhl_tool", "tests.shelves", "tests.splits"]  # fixtures of several files

PASSWORD = "a-good-password"
PAL = Timebase(Rate(25))


@pytest.fixture(autouse=True)
def home(request, tmp_path, settings):
    """A home and a card root of this test's own."""
    if "db" not in request.fixturenames and "transactional_db" not in request.fixturenames:
        return site.HOME
    settings.HOME = tmp_path / "home"
    settings.MEDIA_HOME = settings.HOME / "media"
    settings.CARD_ROOTS = [tmp_path / "cards"]
    settings.CARD_ROOTS[0].mkdir()
    settings.MEDIA_HOME.mkdir(parents=True)
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
    return settings.HOME


@pytest.fixture
def root(home, settings) -> Path:
    """The card root."""
    return settings.CARD_ROOTS[0]


@pytest.fixture
def cast(db) -> SimpleNamespace:
    """`kb04` with somebody in every role (`media_manager`, `logger` …); `nr07` with its owner, the `stranger`."""
    kb04, _ = people.make_production("KB04", "Kestrel Bay", Timebase(Rate(25)))
    nr07, _ = people.make_production("NR07", "Night Run", Timebase(Rate(30000, 1001), drop=True))
    found = {"kb04": kb04, "nr07": nr07}
    for role in roles.ROLES:
        found[role.replace(" ", "_")] = _person(role.replace(" ", "-"), kb04, role)
    found["stranger"] = _person("stranger", nr07, roles.OWNER)
    return SimpleNamespace(**found)


def _person(name: str, production: Production, role: str) -> Person:
    person, _ = people.add_member(name, production, role)
    person.set_password(PASSWORD)
    person.save()
    return person


def browser_of(person: Person | None, **options) -> Client:
    """A browser in which `person` has signed in; nobody has if None."""
    browser = Client(**options)
    if person:
        browser.force_login(person)
    return browser


def api_of(person: Person | None) -> APIClient:
    """A script with the token of `person`, or without one; it sends JSON."""
    script = APIClient()
    script.default_format = "json"
    if person:
        script.credentials(HTTP_AUTHORIZATION=f"Token {tokens.issue(person, 'a test', tokens.Scope.WRITE)[1]}")
    return script


def film(path: Path, *, frames: int = 50, rate: str = "25", start: str | None = "10:00:00:00", size=(320, 180)) -> Path:
    """A MOV or MP4 whose pictures carry their frame numbers, with two channels of tone."""
    path.parent.mkdir(parents=True, exist_ok=True)
    shutil.copyfile(_filmed(path.suffix, frames, rate, start, size), path)
    return path


@cache
def _filmed(suffix: str, frames: int, rate: str, start: str | None, size: tuple[int, int]) -> Path:
    width, height = size
    pictures = np.full((frames, height, width), 90, dtype=np.uint8)
    for number, picture in enumerate(pictures):
        paint_number(picture, number)
    made = Path(tempfile.mkdtemp(dir=site.HOME)) / f"film{suffix}"
    command = [
        *(ffmpeg_binary(), "-hide_banner", "-loglevel", "error", "-y"),
        *("-f", "rawvideo", "-pix_fmt", "gray", "-s", f"{width}x{height}", "-framerate", rate, "-i", "pipe:0"),
        *("-f", "lavfi", "-i", "sine=f=440:r=48000", "-ac", "2", "-shortest"),
        *("-c:v", "libx264", "-preset", "ultrafast", "-crf", "14", "-pix_fmt", "yuv420p", "-c:a", "pcm_s16le"),
        *(("-timecode", start) if start else ()),
        str(made),
    ]
    done = subprocess.run(command, input=pictures.tobytes(), capture_output=True, check=False)
    assert done.returncode == 0, done.stderr.decode()
    return made


def see(person: Person, address: str, status: int = 200) -> str:
    """The page at an address, as `person` is shown it."""
    answer = browser_of(person).get(address, follow=True)
    assert answer.status_code == status, (address, answer.content[:500])
    return answer.content.decode()


@dataclass
class TakenIn:
    card: Card
    folder: Path

    @property
    def clip(self) -> Clip:
        return self.card.clips.select_related("card__production").first()


def work_off() -> None:
    """Do every job that waits, and what they ask for, here and now."""
    while job := Job.objects.filter(state=Job.State.WAITING).order_by("id").first():
        work(job.id)


def check(folder: Path, production: Production) -> Card:
    """Take a folder in and check it, here and now, without making proxies."""
    card = intake.take_in(folder, production)
    work(intake.ask_for_check(card, why="a test").id)
    card.refresh_from_db()
    return card


def long_ago(job: Job, **ago: timedelta) -> None:
    """As if what these fields of a job tell had happened this much longer ago."""
    Job.objects.filter(id=job.id).update(**{field: timezone.now() - delta for field, delta in ago.items()})


@pytest.fixture
def make_card(cast, root):
    """Make a card folder of one small clip, take it in and check it; with `proxied`, make what people watch too."""

    def make(name: str = "KB04-261112-A01", *, production=None, proxied: bool = False, **about) -> TakenIn:
        folder = root / name
        film(folder / "CLIP" / "A001C001.MOV", **about)
        card = check(folder, production or cast.kb04)
        if proxied:
            work_off()
            card.refresh_from_db()
        return TakenIn(card, folder)

    return make


@pytest.fixture
def make_clip(cast):
    """Make the rows of a clip on a trusted card, for tests that touch no footage."""

    def make(
        name: str = "A001C001",
        *,
        card: str = "KB04-261112-A01",
        production=None,
        timebase: Timebase = PAL,
        start: str = "10:00:00:00",
        state: str = Card.State.VERIFIED,
        **about,
    ) -> Clip:
        production = production or cast.kb04
        read = parse_card_name(card)
        taken = set(production.cards.values_list("reel", flat=True))
        on, _ = production.cards.get_or_create(
            name=card,
            defaults={
                "folder": f"/nowhere/{card}",
                "reel": reel_for(card, taken),
                "shoot_date": read.shoot_date,
                "camera": read.camera,
                "number": read.number,
                "state": state,
                "proof": Card.Proof.NONE,
            },
        )
        facts = {
            "kind": Clip.Kind.VIDEO,
            "files": [f"CLIP/{name}.MOV"],
            "rate_numerator": timebase.rate.numerator,
            "rate_denominator": timebase.rate.denominator,
            "drop": timebase.drop,
            "frames": 50,
            "file_frames": [about.get("frames", 50)],
            "start_frame": timebase.frame(start),
            "timecode_source": "timecode track",
            "channels": 2,
        }
        return on.clips.create(name=name, **(facts | about))

    return make


@pytest.fixture
def a_clip(make_clip) -> Clip:
    """A clip of 50 frames from 10:00:00:00, on a verified card; rows only, which is what most tests need."""
    return make_clip()


@pytest.fixture
def sent():
    """The job numbers that the courier was given, in place of the queue."""
    carried = []
    jobs.set_courier(lambda job: carried.append(job.id))
    yield carried
    tasks.carry_jobs()


@pytest.fixture
def job(a_clip) -> Job:
    """A job that waits."""
    return jobs.ask(Job.Kind.PROXY, card=a_clip.card, clip=a_clip, why="a test")


@pytest.fixture
def full(cast, make_clip, settings):
    """A clip with a filmstrip and everything that can be said of it, on a card with a finding and a failed job."""
    clip = make_clip(proxy_state=Clip.ProxyState.READY, has_peaks=True)
    clip.filmstrip = {
        "every": 25,
        "picture_width": 160,
        "picture_height": 90,
        "columns": 10,
        "rows": 6,
        "count": 2,
        "files": ["sheet-000.jpg"],
    }
    clip.save()
    select = selecting.put(
        cast.logger, uuid.uuid4(), clip, selecting.Mark(5, 20, ("gull",), "it lands\nthen leaves", 4), 0
    )
    made = lists.make(cast.editor, cast.kb04, "best", [select.id])
    return clip, select, made
