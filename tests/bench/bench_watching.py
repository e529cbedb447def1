"""The watching page in a browser: seeks, fast playback, and the sheet of a long clip.

    python -m tests.bench.bench_watching

Everything is on this machine, browser and server too, so read it against the floor in the same table: what the
browser alone takes to seek the same file, and to draw an empty page.
"""

import os
import random
import shutil
import uuid
from statistics import median, quantiles

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")
os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"

import django

django.setup()

from django.conf import settings
from django.contrib.staticfiles.handlers import StaticFilesHandler
from django.db import connections
from django.test import Client
from django.test.runner import DiscoverRunner
from django.test.testcases import LiveServerThread
from playwright.sync_api import Page, sync_playwright

from review import roles
from review.crew import people
from review.custody import intake
from review.derived.proxying import PEAKS, media_folder
from review.marking import selecting
from review.media import lanes
from review.models import Clip
from review.tasks import work
from review.timecode import Rate, Timebase
from tests.conftest import film, work_off

SEEKS = 200
HOURS = 4
SELECTS = 500
CHROMIUM = (
    *("--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking"),
    *("--disable-component-update", "--disable-sync", "--autoplay-policy=no-user-gesture-required"),
)

# From the click on the sheet to the picture of its frame, as the page's timecode tells it; milliseconds.
_SEEK = """async (steps) => {
  const shown = document.getElementById("timecode");
  const took = [];
  for (const [line, x] of steps) {
    const sheet = document.getElementById("sheet");
    sheet.scrollTop = line * 92;
    await new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)));
    const canvas = sheet.querySelector(`[data-line="${line}"] canvas`);
    const box = canvas.getBoundingClientRect();
    const before = shown.textContent;
    const start = performance.now();
    const at = { clientX: box.left + x * box.width, clientY: box.top + 30, bubbles: true, detail: 1, pointerId: 1,
                 isPrimary: true, button: 0 };
    canvas.dispatchEvent(new PointerEvent("pointerdown", { ...at, buttons: 1 }));
    canvas.dispatchEvent(new PointerEvent("pointerup", at));
    canvas.dispatchEvent(new MouseEvent("click", at));
    await new Promise((done) => {
      const observer = new MutationObserver(() => (observer.disconnect(), done()));
      observer.observe(shown, { childList: true, characterData: true, subtree: true });
      setTimeout(done, 2000);
    });
    if (shown.textContent !== before) took.push(performance.now() - start);
    await new Promise((done) => setTimeout(done, 40));
  }
  return took;
}"""

_BARE_SEEK = """async ([url, times]) => {
  const video = Object.assign(document.createElement("video"), { src: url, muted: true, preload: "auto" });
  document.body.append(video);
  await new Promise((done) => video.addEventListener("canplaythrough", done, { once: true }));
  const took = [];
  for (const time of times) {
    const start = performance.now();
    const shown = new Promise((done) => { video.requestVideoFrameCallback(done); setTimeout(done, 2000); });
    video.currentTime = time;
    await shown;
    took.push(performance.now() - start);
    await new Promise((done) => setTimeout(done, 40));
  }
  video.remove();
  return took;
}"""

_DROPPED = """async (seconds) => {
  const video = document.getElementById("video");
  const before = video.getVideoPlaybackQuality();
  await new Promise((done) => setTimeout(done, seconds * 1000));
  const after = video.getVideoPlaybackQuality();
  return [after.droppedVideoFrames - before.droppedVideoFrames, after.totalVideoFrames - before.totalVideoFrames];
}"""

# How long the browser is busy with each step of scrolling; an empty box is the floor.
_SCROLL = """async ([name, steps]) => {
  const box = document.getElementById(name);
  const took = [];
  for (let step = 0; step < steps; step += 1) {
    const start = performance.now();
    box.scrollTop += 60;
    await new Promise((done) => requestAnimationFrame(() => setTimeout(done)));
    took.push(performance.now() - start);
  }
  return took;
}"""

_SCRIPT = """() => performance.getEntriesByType("resource").filter((each) => each.name.endsWith(".js"))
  .reduce((sum, each) => [sum[0] + 1, sum[1] + each.encodedBodySize], [0, 0])"""


def main() -> None:
    runner = DiscoverRunner(verbosity=0, interactive=False)
    kept = runner.setup_databases()
    settings.MEDIA_HOME.mkdir(parents=True, exist_ok=True)
    settings.CARD_ROOTS[0].mkdir(parents=True, exist_ok=True)
    server = LiveServerThread("127.0.0.1", StaticFilesHandler)
    server.daemon = True
    server.start()
    server.is_ready.wait()
    try:
        with sync_playwright() as playwright:
            browser = playwright.chromium.launch(executable_path="/usr/bin/chromium", args=CHROMIUM)
            _measure(browser, f"http://127.0.0.1:{server.port}")
            browser.close()
    finally:
        server.terminate()
        connections.close_all()
        runner.teardown_databases(kept)


def _measure(browser, address: str) -> None:
    production, _ = people.make_production("KB04", "Kestrel Bay", Timebase(Rate(25)))
    person, _ = people.add_member("ilse", production, roles.LOGGER)
    short = _short_clip(production)
    context = browser.new_context(base_url=address, viewport={"width": 1440, "height": 900})
    client = Client()
    client.force_login(person)
    cookie = client.cookies[settings.SESSION_COOKIE_NAME]
    context.add_cookies([{"name": cookie.key, "value": cookie.value, "url": address}])
    page = context.new_page()
    _open(page, short)
    chance = random.Random(1)
    lines = page.locator("#sheet .line").count()
    took = page.evaluate(_SEEK, [[chance.randrange(lines), chance.random()] for _ in range(SEEKS)])
    times = [chance.uniform(0, 59) for _ in range(SEEKS)]
    bare = page.evaluate(_BARE_SEEK, [f"/media/{short.id}/proxy.mp4", times])
    print(f"{os.cpu_count()} cores, browser and server on them")
    _say("seek to its picture, ms", took, bare)
    for speed, keys in ((1, "l"), (2, "ll"), (4, "lll")):
        page.keyboard.press("Home")
        page.wait_for_timeout(500)
        for key in keys:
            page.keyboard.press(key)
        page.wait_for_timeout(500)
        dropped, total = page.evaluate(_DROPPED, 5)
        page.keyboard.press("k")
        print(f"frames dropped at {speed}x          {dropped} of {total}")
    count, size = page.evaluate(_SCRIPT)
    print(f"script sent                    {count} files, {size / 1000:.0f} kB")

    long = _long_clip(short, person)
    _open(page, long)
    page.evaluate("""() => { const box = document.createElement("div"); box.id = "empty"; box.style.cssText =
      "position:absolute;width:600px;height:400px;overflow:auto"; box.innerHTML =
      '<div style="height:200000px"></div>'; document.body.append(box); }""")
    scrolled = page.evaluate(_SCROLL, ["sheet", 200])
    _say(f"a scroll step over {HOURS} h, ms", scrolled, page.evaluate(_SCROLL, ["empty", 200]))


def _open(page: Page, clip: Clip) -> None:
    page.goto(f"/clips/{clip.id}/")
    page.wait_for_selector("#sheet .line canvas")
    page.wait_for_timeout(2500)


def _say(what: str, took: list[float], floor: list[float]) -> None:
    p95, floor_p95 = (quantiles(each, n=20)[-1] for each in (took, floor))
    print(
        f"{what:<30} median {median(took):6.1f}, 95th percentile {p95:6.1f}; "
        f"floor {median(floor):6.1f}, {floor_p95:6.1f} ({len(took)} of them)"
    )


def _short_clip(production) -> Clip:
    folder = settings.CARD_ROOTS[0] / "KB04-261112-A01"
    film(folder / "CLIP" / "A001C001.MOV", frames=1500, size=(640, 360))
    card = intake.take_in(folder, production)
    work(intake.ask_for_check(card, why="the bench").id)
    work_off()
    return card.clips.get()


def _long_clip(short: Clip, person) -> Clip:
    """The rows and pictures of a clip of four hours; its proxy is the short one's."""
    frames = HOURS * 3600 * 25
    clip = Clip.objects.get(id=short.id)
    clip.id, clip.name, clip.frames, clip.file_frames = None, "A001C002", frames, [frames]
    count = frames // clip.filmstrip["every"]
    sheets = -(-count // (clip.filmstrip["columns"] * clip.filmstrip["rows"]))
    names = [f"filmstrip-{number:03}.jpg" for number in range(1, sheets + 1)]
    clip.filmstrip = {**clip.filmstrip, "count": count, "files": names}
    clip.proxied_frames = frames
    clip.save(force_insert=True)
    folder, source = media_folder(clip.id), media_folder(short.id)
    folder.mkdir(parents=True)
    shutil.copyfile(source / "proxy.mp4", folder / "proxy.mp4")
    for name in names:
        shutil.copyfile(source / short.filmstrip["files"][0], folder / name)
    chance = random.Random(2)
    (folder / PEAKS).write_bytes(chance.randbytes(frames * clip.channels))
    shutil.copyfile(source / lanes.FILE, folder / lanes.FILE)
    for _ in range(SELECTS):
        start = chance.randrange(frames - 500)
        selecting.put(
            person, uuid.uuid4(), clip, selecting.Mark(start, start + chance.randrange(25, 500), ("gull",)), 0
        )
    return clip


if __name__ == "__main__":
    main()
