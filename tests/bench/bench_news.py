"""What a hundred open pages cost: milliseconds of CPU for a question about news, and what renewing a page adds.

python -m tests.bench.bench_news

A page that renews itself is told apart by whether another one did since the last thing happened: what the first has
worked out is remembered for the others. While more and more happens, a page is fetched once in REST seconds (live.js);
the cores for a hundred pages are given for all of them being the first, and for none.
"""

import os
import tempfile
import time
import uuid
from datetime import timedelta

os.environ["RUSHLIGHT_HOME"] = tempfile.mkdtemp(prefix="rushlight-bench-")
os.environ["DJANGO_SETTINGS_MODULE"] = "logging_app.settings"

import django

django.setup()

from django.core.management import call_command
from django.db import connection
from django.test import Client
from django.utils import timezone

from review import roles
from review.crew import activity, people
from review.models import Card, Clip, Job, Select, WorkedSlot
from review.timecode import Rate, Timebase

PAGES, EVERY = 100, 3.5  # seconds between two questions of a page, on the average
REST = 10  # seconds between two renewals of a page while things go on changing, as in live.js
CARDS, CLIPS, SELECTS, HAPPENED, WAITING = 60, 6000, 100_000, 100_000, 1000


def fill():
    production, _ = people.make_production("KB04", "Kestrel Bay", Timebase(Rate(25)))
    person, _ = people.add_member("ilse", production, roles.PRODUCER)
    cards = [
        Card.objects.create(
            production=production, name=f"KB04-261112-A{n:02}", folder=f"/nowhere/{n}", reel=f"6111{n:04}",
            state="verified", proof="checksums", shoot_date="2026-11-12", camera="A", number=n,
        )
        for n in range(CARDS)
    ]  # fmt: skip
    Clip.objects.bulk_create(
        Clip(card=cards[n % CARDS], name=f"C{n:04}", kind="video", files=[], rate_numerator=25, rate_denominator=1,
             drop=False, frames=20_000, start_frame=n * 300, timecode_source="x", channels=2, watched_frames=n)
        for n in range(CLIPS)
    )  # fmt: skip
    clips = list(Clip.objects.values_list("id", flat=True))
    Select.objects.bulk_create(
        (Select(id=uuid.uuid4(), clip_id=clips[n % CLIPS], in_frame=n % 1000, out_frame=n % 1000 + 50, logger=person)
         for n in range(SELECTS)), batch_size=5000
    )  # fmt: skip
    Clip.objects.update(select_count=SELECTS // CLIPS)
    rows = activity.Activity
    rows.objects.bulk_create(
        (
            rows(production=production, person=person, did="marked", words=str(n), about="select")
            for n in range(HAPPENED)
        ),
        batch_size=5000,
    )
    now = timezone.now().replace(second=0, microsecond=0)
    for minutes in range(0, 30_000, 5):
        WorkedSlot.objects.create(production=production, person=person, began=now - timedelta(minutes=minutes), shown=9)
    Job.objects.bulk_create(
        Job(kind="proxy", card=cards[n % CARDS], clip_id=clips[n], why="a bench") for n in range(WAITING)
    )
    return production, person


def cost(browser: Client, address: str, times: int, happens=lambda: None, **headers) -> tuple[float, int]:
    """Milliseconds of CPU for one request, the lowest of three rounds, and the answer's bytes. `happens` is called
    before each, and not counted."""
    answer = browser.get(address, headers=headers)
    assert answer.status_code == 200, (address, answer.status_code)
    best = 1e9
    for _ in range(3):
        spent = 0.0
        for _ in range(times):
            happens()
            began = time.process_time()
            browser.get(address, headers=headers)
            spent += time.process_time() - began
        best = min(best, spent / times * 1000)
    return best, len(answer.content)


def main():
    call_command("migrate", verbosity=0)
    production, person = fill()
    connection.cursor().execute("ANALYZE")
    browser = Client()
    browser.force_login(people.Person.objects.get())
    rate = PAGES / EVERY
    print(f"{CARDS} cards, {CLIPS} clips, {SELECTS} selects, {HAPPENED} rows of what happened, {WAITING} jobs waiting")
    for name, address in (
        ("nothing new", "/api/v1/news/?production=KB04"),
        ("and the workers' progress", "/api/v1/news/?production=KB04&working=yes"),
    ):
        ms, size = cost(browser, address, 200)
        print(f"a question, {name}: {ms:.1f} ms of CPU, {size} bytes; {PAGES} pages: {ms * rate / 10:.0f} % of a core")

    def happens():
        activity.happened(production, person, "marked", "a moment", activity.About.SELECT)

    for path in ("/cards/", "/days/", "/coverage/", "/stints/", "/activity/"):
        address = f"{path}?production=KB04"
        first, size = cost(browser, address, 5, happens, **{"X-Live": "yes"})
        others, _ = cost(browser, address, 5, **{"X-Live": "yes"})
        cores = " to ".join(f"{ms * PAGES / REST / 1000:.2f}" for ms in (others, first))
        print(f"renewing {path}: {first:.0f} ms of CPU for the first, {others:.0f} for others, {size // 1000} kB")
        print(f"  {PAGES} pages while things go on changing: {cores} cores")
    ms, size = cost(browser, "/api/v1/days/2026-11-12/?production=KB04&level=60", 3)
    print(f"a day of {CLIPS} clips for the map: {ms:.0f} ms of CPU, {size // 1000} kB")


if __name__ == "__main__":
    main()
