"""A browser, and people in it.

The site runs on pytest-django's live server, threaded, on a database file: one process, so a test can look at the
rows that the page wrote. What `manage.py up` adds to that (gunicorn, workers) has tests of its own.
"""

import os
import re
from collections.abc import Callable
from copy import copy
from dataclasses import dataclass, field
from pathlib import Path
from shutil import copytree

import pytest
from django.conf import settings as site
from django.core.servers.basehttp import WSGIRequestHandler
from django.test import Client
from playwright.sync_api import BrowserContext, Page, expect, sync_playwright

from review.derived.proxying import media_folder
from review.marking import tagging
from review.models import Clip
from tests.browser.desk import Desk

# Playwright keeps an event loop in this thread, which Django would take for asynchronous code.
os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"
expect.set_options(timeout=10_000)
# The live server sends an answer's head and body apart; held back until the head is acknowledged, each of a page's
# seventy files would come 40 ms late. Real servers do the same.
WSGIRequestHandler.disable_nagle_algorithm = True

CHROMIUM = "/usr/bin/chromium"
_QUIET = (
    *("--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking"),
    *("--disable-component-update", "--disable-sync", "--autoplay-policy=no-user-gesture-required"),
)


def pytest_collection_modifyitems(items):
    for item in items:
        if "/tests/browser/" in item.path.as_posix():
            item.add_marker(pytest.mark.browser)


@pytest.fixture(scope="session")
def chromium():
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=_QUIET)
        yield browser
        browser.close()


_HURRY = """for (const name of ["setInterval", "setTimeout"]) {
  const wait = window[name];
  window[name] = (work, ms, ...rest) => wait(work, ms === 4000 || ms === 5000 ? 700 : ms, ...rest);
}"""


@dataclass
class Room:
    """Lets people in, each with a browser of their own, and remembers every error that a page reports."""

    address: str
    make_context: Callable[..., BrowserContext]
    contexts: list[BrowserContext] = field(default_factory=list)
    errors: list[str] = field(default_factory=list)
    expected: list[str] = field(default_factory=list)  # patterns of errors that the test brings about

    def context(self, person=None, **options) -> BrowserContext:
        """A browser of one person, signed in (or nobody's)."""
        context = self.make_context(base_url=self.address, **{"viewport": {"width": 1440, "height": 900}, **options})
        context.set_default_timeout(15_000)
        context.on("page", self._listen)
        self.contexts.append(context)
        if person is not None:
            client = Client()
            client.force_login(person)
            cookie = client.cookies[site.SESSION_COOKIE_NAME]
            context.add_cookies([{"name": cookie.key, "value": cookie.value, "url": self.address}])
        return context

    def enter(self, person, path: str = "/", **options) -> Page:
        page = self.context(person, **options).new_page()
        page.goto(path)
        return page

    def watch(self, person, clip, *, frame: int = 0, hurried: bool = False, **options) -> Desk:
        """Somebody opens a clip's page; it shows `frame` when this returns. On a `hurried` page what comes round every
        few seconds comes round in less than one, for tests in which only waiting for it would pass the time."""
        context = self.context(person, **options)
        if hurried:
            context.add_init_script(_HURRY)
        return Desk.open(context.new_page(), clip, frame)

    def _listen(self, page: Page) -> None:
        page.on("console", lambda said: said.type == "error" and self.errors.append(f"{page.url}: {said.text}"))
        page.on("pageerror", lambda error: self.errors.append(f"{page.url}: {error}"))

    def unexpected(self) -> list[str]:
        return [error for error in self.errors if not any(re.search(each, error) for each in self.expected)]


@pytest.fixture
def room(chromium, live_server, home):
    room = Room(live_server.url, chromium.new_context)
    yield room
    errors = room.unexpected()
    for context in room.contexts:
        context.set_offline(True)  # what a page sends as it closes would meet a database being emptied
        context.close()
    assert errors == [], "the pages reported errors"


@pytest.fixture(scope="session")
def kept(tmp_path_factory):
    """What the real pipeline made of a camera file, once for all tests: the card, its clip, and a folder of both."""
    return tmp_path_factory.mktemp("kept"), {}


@pytest.fixture
def made_once(cast, root, kept):
    """Let the real pipeline make a card of one clip once for all tests; the second one alike is a copy."""
    folder, made = kept

    def once(which: str, make: Callable[[], Clip]) -> Clip:
        if which not in made:
            clip = make()
            copytree(clip.card.folder, folder / which / "card")
            copytree(media_folder(clip.id), folder / which / "media")
            made[which] = copy(clip.card), copy(clip)
            return clip
        card, clip = map(copy, made[which])
        card.id, card.production, card.folder = None, cast.kb04, str(root / Path(card.folder).name)
        card.save(force_insert=True)
        clip.id, clip.card = None, card
        clip.save(force_insert=True)
        copytree(folder / which / "card", card.folder)
        copytree(folder / which / "media", media_folder(clip.id))
        return clip

    return once


@pytest.fixture
def ready_clip(made_once, make_card):
    """Make a clip that can be watched, as make_card does with `proxied`."""

    def ready(name: str = "KB04-261112-A01", **about) -> Clip:
        which = "-".join([name, *(f"{key}{value}" for key, value in sorted(about.items()))])
        return made_once(which, lambda: make_card(name, proxied=True, **about).clip)

    return ready


@pytest.fixture
def clip(cast, ready_clip) -> Clip:
    """Six seconds, and three tags with the keys a, s and d; many files have a clip of their own instead."""
    tagging.know_all(cast.kb04, {"kind": ["gull", "net"], "people": ["Skipper"]})
    return ready_clip(frames=150)


@pytest.fixture
def desk(room, cast, clip) -> Desk:
    """A logger at the clip's page."""
    return room.watch(cast.logger, clip)


@pytest.fixture
def run(room):
    """Run an asynchronous function body with the arguments `load` (imports a shipped module) and `given`."""
    page = room.context().new_page()
    page.goto("/sign-in/")

    def run(body: str, given=None):
        load = f"(name) => import('{site.STATIC_URL}review/js/' + name)"
        return page.evaluate(f"async (given) => {{ const load = {load}; {body} }}", given)

    return run
