"""How long every page and every list of the JSON surface takes the server, at a size, as the selects grow.

    .venv-tests/bin/python -m tests.bench.bench_pages series 10000 100000 500000 [part of an address ...]
    .venv-tests/bin/python -m tests.bench.bench_pages here [part of an address ...]

The first fills a home (or a database beside the one that RUSHLIGHT_DATABASE names) that is thrown away; the second
measures the database that the settings name, filled by tests.bench.room. The addresses come from the tables of
addresses themselves, with an id for each parameter; what can only be posted to is left out.

    .venv-tests/bin/python -m tests.bench.bench_pages team 50000 coverage stints days second-looks split forecast

is what the pages of a team cost: 1,000 hours in 6,000 clips, 25 loggers.

Times are milliseconds, the shortest of RUNS: for each role from the request's beginning to its last byte, and under
`CPU` what processor time our own thread and the database's process took, which others on the machine do not lengthen
much; by it an address is called slow. Before each of these runs somebody has marked and watched something, so that
nothing is remembered from the run before; `again` is the CPU of a request after which nothing happened. Queries are
those of the producer.
"""

import os
import sys
import time
from dataclasses import dataclass
from pathlib import Path

HERE = sys.argv[1:2] == ["here"]
os.environ.setdefault("DJANGO_SETTINGS_MODULE", "logging_app.settings" if HERE else "tests.settings")

import django

django.setup()

from django.db import connection
from django.db.models import F
from django.test import Client
from django.test.utils import CaptureQueriesContext, setup_databases, teardown_databases
from django.urls import get_resolver, reverse
from django.utils import timezone

from review.crew import activity
from review.models import (
    Clip,
    Cut,
    Job,
    Medium,
    NamedSearch,
    Person,
    Production,
    SecondLook,
    Select,
    SelectsList,
    Split,
    Stint,
    Tag,
    WorkedSlot,
)
from tests.bench import room
from tests.bench.rows import SIZES, add_selects, add_stories, fill

RUNS = 4
SLOW = 100.0  # ms
WHO = ("peder", "logger0", "sunniva")  # producer, logger, editor

# Beside each plain address: what is asked of some of them.
QUERIES = {
    "selects": ("text=deck+gull", "text=albatross", "tag=rare", "camera=C&rating=4&sort=rating", "view=pictures"),
    "api-selects-list": ("text=deck+gull", "sort=newest", "camera=C&rating=4", "limit=200"),
    "coverage": ("by=day", "by=camera", "by=logger", "by=story", "state=skimmed"),
    "api-coverage-list": ("by=day", "by=logger"),
    "api-days-detail": ("level=60", "level=4"),
    "api-clips-list": ("camera=A", "limit=200"),
    "api-news-list": ("working=yes",),
}


def samples(production: Production) -> dict[str, dict]:
    """An id for each parameter of an address, by the address's parameters or its name."""
    card = production.cards.filter(camera="B").order_by("id")[1]
    clip = card.clips.order_by("id").first()
    select = Select.objects.filter(clip__card__production=production).first()
    lists = SelectsList.objects.filter(production=production).order_by("id")
    ids = {
        "card_id": card.id,
        "clip_id": clip.id,
        "list_id": lists[1].id,
        "split_id": Split.objects.filter(state="proposed").first().id,
        "cut_id": Cut.objects.first().id,
        "medium_id": Medium.objects.first().id,
        "day": card.shoot_date.isoformat(),
    }
    of_surface = {
        "cards": card, "clips": clip, "selects": select, "lists": lists[1], "stints": Stint.objects.first(),
        "splits": Split.objects.filter(state="proposed").first(), "tags": Tag.objects.first(),
        "jobs": Job.objects.first(), "cuts": Cut.objects.first(), "searches": NamedSearch.objects.first(),
        "productions": production, "second-looks": SecondLook.objects.first(),
    }  # fmt: skip
    return ids | {f"api-{name}": {"pk": each.pk} for name, each in of_surface.items()}


def addresses(known: dict) -> list[tuple[str, str]]:
    """(name, address) of what can be looked at, by the tables of addresses."""
    found = {}
    for name, forms in get_resolver().reverse_dict.lists():
        if not isinstance(name, str) or name.startswith(("admin", "static")):
            continue
        wanted = forms[0][0][0][1]
        own = next(
            (known[each] for each in (name.rsplit("-", 1)[0], "-".join(name.split("-")[:2])) if each in known), {}
        )
        given = {each: own[each] if each in own else known[each] for each in wanted if each in own or each in known}
        if len(given) == len(wanted) and "format" not in wanted:
            found[name] = reverse(name, kwargs=given)
    long_list = SelectsList.objects.order_by("id").first()
    pairs = [*found.items(), ("list (2,000 entries)", reverse("list", args=[long_list.id]))]
    for name, address in list(pairs):
        pairs += [(name, f"{address}?{query}") for query in QUERIES.get(name, ())]
    return sorted(pairs, key=lambda pair: pair[1])


def worked() -> float:
    """Seconds of processor time of this thread, and of the database's process if that is another one."""
    here = time.thread_time()
    if connection.vendor != "postgresql":
        return here
    spent = Path(f"/proc/{connection.connection.info.backend_pid}/schedstat").read_text().split()[0]
    return here + int(spent) / 1e9


@dataclass
class Cost:
    """Of one address for one person: milliseconds, and bytes."""

    status: int
    wall: float = 1e9
    cpu: float = 1e9
    again: float = 1e9
    size: int = 0


def measure(browser: Client, address: str, production: Production) -> Cost:
    cost = Cost(browser.get(address).status_code)
    for _ in range(RUNS if cost.status < 300 else 0):
        something_new(production)
        began, before = time.perf_counter(), worked()
        answer = browser.get(address)
        cost.size = sum(map(len, answer)) if answer.streaming else len(answer.content)
        spent, middle = time.perf_counter() - began, worked()
        sum(map(len, browser.get(address)))
        cost.wall = min(cost.wall, 1000 * spent)
        cost.cpu = min(cost.cpu, 1000 * (middle - before))
        cost.again = min(cost.again, 1000 * (worked() - middle))
        if cost.wall > 20 * SLOW:
            break
    return cost


def something_new(production: Production) -> None:
    """Somebody marked a moment and watched a little more, as far as what is remembered goes by it."""
    person = Person.objects.get(username=WHO[1])
    activity.happened(production, person, "marked", "a moment", activity.About.SELECT)
    began = timezone.now().replace(minute=0, second=0, microsecond=0)
    slot, _ = WorkedSlot.objects.get_or_create(production=production, person=person, began=began, camera="A")
    WorkedSlot.objects.filter(id=slot.id).update(shown=F("shown") + 1)


def table(production: Production, only: list[str]) -> dict[str, float]:
    """Print the table; the CPU time of each address."""
    browsers = {}
    for name in WHO:
        browsers[name] = Client()
        browsers[name].force_login(Person.objects.get(username=name), "django.contrib.auth.backends.ModelBackend")
    clips, selects = Clip.objects.count(), Select.objects.count()
    print(f"\n{connection.vendor}, {clips:,} clips, {selects:,} selects; load {os.getloadavg()[0]:.1f}\n")
    print("| address | producer, ms | logger | editor | CPU | again | queries | kB |")
    print("| --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: |")
    times = {}
    for _, address in addresses(samples(production)):
        if only and not any(part in address for part in only):
            continue
        full = f"{address}{'&' if '?' in address else '?'}production={production.code}"
        runs = [measure(browsers[name], full, production) for name in WHO]
        shown = [run for run in runs if run.status < 300]
        if not shown:
            continue
        something_new(production)
        with CaptureQueriesContext(connection) as asked:
            browsers[WHO[0]].get(full)
        cells = [f"{run.wall:.0f}" if run.status < 300 else f"({run.status})" for run in runs]
        cpu, again, size = (max(getattr(run, what) for run in shown) for what in ("cpu", "again", "size"))
        times[address] = cpu
        mark = " **" if cpu > SLOW else ""
        print(
            f"| {address}{mark} | {' | '.join(cells)} | {cpu:.0f} | {again:.0f} | {len(asked)} | {size / 1000:.1f} |",
            flush=True,
        )
    slow = sum(ms > SLOW for ms in times.values())
    print(f"\n{len(times)} addresses; {slow} over {SLOW:.0f} ms, marked **")
    return times


def growth(times: dict[int, dict[str, float]]) -> None:
    """How each address's CPU time grew."""
    print(f"\n| address | {' | '.join(f'{many:,} selects' for many in times)} |")
    print(f"| --- |{' ---: |' * len(times)}")
    for address in next(iter(times.values())):
        print(f"| {address} | {' | '.join(f'{of[address]:.0f}' if address in of else '-' for of in times.values())} |")


def main() -> None:
    if HERE:
        table(Production.objects.get(code="KB04"), sys.argv[2:])
        return
    steps = sorted(int(each) for each in sys.argv[2:] if each.isdigit()) or [10_000, 100_000, 500_000]
    only = [each for each in sys.argv[2:] if not each.isdigit()]
    databases = setup_databases(verbosity=0, interactive=False)
    try:
        made, times = fill(SIZES[sys.argv[1]]), {}
        for at, many in enumerate(steps):
            add_selects(made, many)
            if at == 0:
                room.add_desk(made)
                add_stories(made)
            times[many] = table(made.production, only)
        growth(times)
    finally:
        teardown_databases(databases, verbosity=0)


if __name__ == "__main__":
    main()
