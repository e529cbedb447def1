"""Finding among very many selects, by question: server time of a first page's rows, of counting, and of the whole page
as HTML with its fifty rows. Rows are made in bulk, in a home that is thrown away; RUSHLIGHT_DATABASE chooses
PostgreSQL. Times are of the processor, ours and the database's process together: a busy machine stretches them less
than the clock.

    .venv-tests/bin/python -m tests.bench.bench_search [how many selects]
"""

import os
import statistics
import sys
import time
from pathlib import Path
from urllib.parse import urlencode

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")

import django

django.setup()

from django.db import connection
from django.test import Client
from django.test.utils import setup_databases, teardown_databases

from review.desk import finding
from review.models import Person, Production
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
    "in a cut": {"cut": "yes"},
    "worth keeping": {"keep": "yes"},
    "best first": {"sort": "rating"},
    "best first, a word": {"sort": "rating", "text": "gull"},
    "newest first, a word": {"sort": "newest", "text": "gull"},
    "common things seldom together": {"tag": "tag 1,tag 2", "camera": "C", "rating": "5", "text": "gull"},
    "words too many": {"text": "albatross, the winch, a zebra, storm"},
    "a time of day, a word": {"text": "deck", "since": "09:40:12", "until": "09:41:12"},
    "nothing fits": {"tag": "tag 1,tag 2", "rating": "5", "text": "gull net winch storm"},
}


def _now() -> float:
    """Seconds of processor time so far."""
    here = time.process_time()
    if connection.vendor != "postgresql":
        return here
    connection.ensure_connection()
    return here + int(Path(f"/proc/{connection.connection.info.backend_pid}/schedstat").read_text().split()[0]) / 1e9


def ask(production: Production, client: Client, query: dict) -> tuple[float, float, float, str]:
    """Milliseconds of a page's rows, of counting, and of the whole page; how many there are."""
    begun = _now()
    asked = wanted.read(query)
    found = finding.find([production], asked, asking.read(asked.text))
    pages.page(found.rows, asked.sort, 50)
    paged = _now()
    number, all_of_it = pages.count(found.rows, some=found.some)
    counted = _now()
    assert client.get(f"/selects/?{urlencode(query | {'production': production.code})}").status_code == 200
    spent = (paged - begun, counted - paged, _now() - counted)
    return *(1000 * each for each in spent), f"{'' if all_of_it else 'over '}{number:,}"


def main() -> None:
    many = int(sys.argv[1]) if len(sys.argv) > 1 else 500_000
    databases = setup_databases(verbosity=0, interactive=False)
    try:
        begun = _now()
        made = fill(SERIES)
        add_selects(made, many)
        production = made.production
        print(f"{many:,} selects on {connection.vendor}, made in {_now() - begun:.0f} s")
        client = Client()
        client.force_login(Person.objects.get(username="sunniva"))
        client.get("/selects/?production=KB04")  # reads the templates
        print(f"{'':34}{'rows, ms':>10}{'count':>8}{'whole page':>12}  found")
        for name, query in QUESTIONS.items():
            runs = [ask(production, client, query) for _ in range(3)]
            rows, counting, whole = (statistics.median(run[part] for run in runs) for part in range(3))
            print(f"{name:34}{rows:10.0f}{counting:8.0f}{whole:12.0f}  {runs[0][3]}")
    finally:
        teardown_databases(databases, verbosity=0)


if __name__ == "__main__":
    main()
