"""Bringing the tables up to date is cut short: at random moments, and right after each step's transaction.

RUSHLIGHT_TEST_FAULTS=50 cuts fifty, and after every step; the usual run one of each.
"""

import random
import shutil
import time

import psycopg
import pytest

from tests.faults.house import TIMES, House
from tests.stack import cluster


class OnSQLite:
    def __init__(self, folder):
        self.house = House(folder)
        self._file = self.house.home / "rushlight.sqlite3"
        self._kept = folder / "kept.sqlite3"

    def keep(self) -> None:
        self.house.run("empty_log")
        shutil.copyfile(self._file, self._kept)

    def put_back(self) -> None:
        for left in self.house.home.glob("rushlight.sqlite3*"):
            left.unlink()
        shutil.copyfile(self._kept, self._file)


class OnPostgreSQL:
    def __init__(self, folder, server):
        self._server = server
        self._ask("CREATE DATABASE old")
        self.house = House(folder, database=server.url.removesuffix("rushlight") + "old")

    def keep(self) -> None:
        self._ask("CREATE DATABASE kept TEMPLATE old")

    def put_back(self) -> None:
        self._ask("DROP DATABASE old WITH (FORCE)")
        self._ask("CREATE DATABASE old TEMPLATE kept")

    def _ask(self, what: str) -> None:
        with psycopg.connect(self._server.url, autocommit=True) as link:
            link.execute(what)


@pytest.fixture(scope="module", params=["SQLite", "PostgreSQL"])
def old(request, tmp_path_factory):
    """A database of some versions ago, to be put back as often as wanted."""
    folder = tmp_path_factory.mktemp("old") / "house"
    if request.param == "SQLite":
        yield from _filled(OnSQLite(folder))
    else:
        with cluster.throwaway() as server:
            yield from _filled(OnPostgreSQL(folder, server))


def _filled(old):
    try:
        old.house.run("fill_old_tables")
        old.keep()
        old.took = old.house.took("bring_tables")
        old.whole = old.house.run("schema"), old.house.run("rows")
        assert old.whole[1]["Select"] == old.whole[1]["Findable"] == 200 and old.whole[1]["SeenBy"] == 20
        yield old
    finally:
        old.house.close()


def test_cut_short_at_random_it_is_finished_by_the_next(old, tally):
    cut = 0
    for _ in range(TIMES * 20):
        if cut == TIMES:
            break
        old.put_back()
        worker = old.house.start("bring_tables")
        time.sleep(random.uniform(0.1, 1) * old.took)
        cut += worker.kill()
        old.house.run("bring_tables")
        assert old.house.run("schema") == old.whole[0]
        assert old.house.run("rows") == old.whole[1]
        assert old.house.run("integrity") == []
    assert cut == TIMES
    tally(
        f"a migration is cut short, {type(old).__name__[2:]}",
        "SIGKILL at a random moment; run again; tables and rows compared",
        cut,
    )


def test_cut_short_right_after_a_steps_transaction_it_goes_on_from_there(old, tally):
    steps = old.house.run("steps")
    chosen = steps if TIMES > 5 else [random.choice(steps)]
    for step in chosen:
        old.put_back()
        assert old.house.start("bring_tables", "", step).killed_itself()
        old.house.run("bring_tables")
        assert old.house.run("schema") == old.whole[0]
    tally(
        f"a migration is cut short, {type(old).__name__[2:]}",
        "SIGKILL between a step's transaction and the next",
        len(chosen),
    )
