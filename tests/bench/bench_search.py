"""Finding among very many selects: server time of a first page, by question. Rows are made in bulk, in a home that is
thrown away; RUSHLIGHT_DATABASE chooses PostgreSQL. SQLite works in this process: its time is the processor's, which a
busy machine does not stretch; PostgreSQL's is the clock's.

    .venv-tests/bin/python -m tests.bench.bench_search [how many selects]
"""

import os
import statistics
import sys
import time

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")

import django

django.setup()

from django.db import connection
from django.test.utils import setup_databases, teardown_databases

from review import finding
from review.models import Production
from review.searching import asking, pages, wanted
from tests.bench.rows import SERIES, add_selects, fill

QUESTIONS = {
    "nothing": {},
    "a common word": {"text": "deck"},
    "two common words": {"text": "deck hands"},
    "a rare word": {"text": "albatross"},
    "half a sentence": {"text": "she laughs, the gate, wide"},
    "a prefix of much": {"text": "w"},
    "a camera and a rating": {"camera": "C", "rating": "5"},
    "a tag": {"tag": "tag 3"},
    "a rare tag and a common word": {"tag": "rare", "text": "deck"},
    "two common tags": {"tag": "tag 1,tag 2"},
    "day, camera, word": {"date": "2026-11-12", "camera": "B", "text": "gull"},
    "an evening": {"since": "18:00", "until": "20:00"},
    "a logger, not pulled": {"logger": "logger3", "pulled": "unlisted"},
    "seen twice": {"seen": "twice"},
    "best first": {"sort": "rating"},
    "best first, a word": {"sort": "rating", "text": "gull"},
    "newest first, a word": {"sort": "newest", "text": "gull"},
    "common things seldom together": {"tag": "tag 1,tag 2", "camera": "C", "rating": "5", "text": "gull"},
    "nothing fits": {"tag": "tag 1,tag 2", "rating": "5", "text": "gull net winch storm"},
}


def _now() -> float:
    return time.process_time() if connection.vendor == "sqlite" else time.perf_counter()


def ask(production: Production, query: dict) -> tuple[float, float, str]:
    """Milliseconds of a page, and of counting; how many there are."""
    begun = _now()
    asked = wanted.read(query)
    found = finding.find([production], asked, asking.read(asked.text))
    shown = found.select_related("select__clip__card", "select__logger").prefetch_related("select__tags")
    pages.page(shown, asked.sort, 50)
    paged = _now()
    number, all_of_it = pages.count(found)
    return 1000 * (paged - begun), 1000 * (_now() - paged), f"{'' if all_of_it else 'over '}{number:,}"


def main() -> None:
    many = int(sys.argv[1]) if len(sys.argv) > 1 else 500_000
    databases = setup_databases(verbosity=0, interactive=False)
    try:
        begun = _now()
        made = fill(SERIES)
        add_selects(made, many)
        production = made.production
        print(f"{many:,} selects on {connection.vendor}, made in {_now() - begun:.0f} s")
        print(f"{'':34}{'page, ms':>10}{'count, ms':>11}  found")
        for name, query in QUESTIONS.items():
            runs = [ask(production, query) for _ in range(3)]
            page, counting = (statistics.median(run[part] for run in runs) for part in (0, 1))
            print(f"{name:34}{page:10.0f}{counting:11.0f}  {runs[0][2]}")
    finally:
        teardown_databases(databases, verbosity=0)


if __name__ == "__main__":
    main()
