"""The page's pure modules, run in a browser, and the way they hang together."""

import json
import random
import re
from pathlib import Path

import pytest
from django.conf import settings as site

from review import frames
from review.tagging import LETTERS

VECTORS = json.loads((Path(__file__).parents[1] / "data" / "timecode_vectors.json").read_text())
STATIC = Path(site.BASE_DIR) / "review" / "static"
MODULES = sorted((STATIC / "review" / "js").glob("*.js"))
_IMPORT = re.compile(r"""^(?:import|export)\s[^;]*?from\s+["']([^"']+)["'];?$""", re.MULTILINE)


@pytest.fixture
def run(room):
    """Run an asynchronous function body with the arguments `load` (imports a shipped module) and `given`."""
    page = room.context().new_page()
    page.goto("/sign-in/")

    def run(body: str, given=None):
        load = f"(name) => import('{site.STATIC_URL}review/js/' + name)"
        return page.evaluate(f"async (given) => {{ const load = {load}; {body} }}", given)

    return run


def test_timecode_agrees_with_every_row_of_the_table(run):
    # the table's sources are named in it: counting rules of SMPTE ST 12-1, enumerated
    rates = {
        rate["name"]: [*map(int, rate["rate"].split("/")), rate["drop"], rate["nominal"], rate["day"]]
        for rate in VECTORS["rates"]
    }
    rows = VECTORS["frame_label"]
    answers = run(
        """
        const { Timebase } = await load("timecode.js");
        return given.rows.map(([name, frame]) => {
          const [numerator, denominator, drop] = given.rates[name];
          const base = new Timebase(numerator, denominator, drop);
          return [base.label(frame), base.nominal, base.perDay];
        });
        """,
        {"rates": rates, "rows": rows},
    )
    assert len(answers) > 500
    for (name, frame, label), answer in zip(rows, answers, strict=True):
        assert answer == [label, *rates[name][3:]], f"frame {frame} at {name}"


def test_a_players_time_leads_back_to_its_frame(run):
    # arithmetic: frame n lasts from n / rate to (n + 1) / rate; a day at every rate
    wrong = run(
        """
        const { Timebase } = await load("timecode.js");
        const wrong = [];
        for (const [numerator, denominator, drop] of Object.values(given)) {
          const base = new Timebase(numerator, denominator, drop);
          for (let frame = 0; frame < base.perDay; frame += frame < 10000 ? 1 : 9973) {
            const [start, end] = [(frame * denominator) / numerator, ((frame + 1) * denominator) / numerator];
            const within = base.within(frame);
            if (!(start < within && within < end) || base.frameAt(start) !== frame || base.frameAt(end) !== frame + 1)
              wrong.push([numerator, denominator, frame]);
          }
        }
        return wrong;
        """,
        {rate["name"]: [*map(int, rate["rate"].split("/")), rate["drop"]] for rate in VECTORS["rates"]},
    )
    assert wrong == []


def test_ranges_do_what_sets_of_frames_do(run):
    # the naive model: a range is the set of its frames
    chance = random.Random(7)
    cases = [[[chance.randrange(30), chance.randrange(30)] for _ in range(chance.randrange(6))] for _ in range(300)]
    answers = run(
        """
        const { union, gaps, count } = await load("ranges.js");
        return given.map((ranges) => {
          const before = JSON.stringify(ranges);
          const answer = [union(ranges), gaps(ranges, 24), count(ranges)];
          return [...answer, before === JSON.stringify(ranges)];
        });
        """,
        cases,
    )
    for ranges, (joined, free, many, untouched) in zip(cases, answers, strict=True):
        held = {frame for start, end in ranges for frame in range(start, end)}
        assert joined == _runs(held)
        assert free == _runs(set(range(24)) - held)
        assert many == len(held)
        assert untouched, "the ranges that were given must not be changed"
        # and as the server does it
        forwards = [(start, end) for start, end in ranges if start < end]
        assert [list(each) for each in frames.union(forwards)] == joined


def _runs(held: set[int]) -> list[list[int]]:
    """A set of frames as ranges in order and apart."""
    starts = sorted(frame for frame in held if frame - 1 not in held)
    ends = sorted(frame + 1 for frame in held if frame + 1 not in held)
    return [list(each) for each in zip(starts, ends, strict=True)]


@pytest.mark.parametrize("module", MODULES, ids=lambda path: path.name)
def test_every_import_is_a_file_that_is_served(module, client):
    assert client.get(f"{site.STATIC_URL}review/js/{module.name}").status_code == 200
    for name in _IMPORT.findall(module.read_text()):
        assert name.startswith("./"), f"{module.name} imports {name}"
        assert (module.parent / name).is_file(), f"{module.name} imports {name}"


def test_every_module_is_reached_from_a_page():
    pages = "".join(page.read_text() for page in (STATIC.parent / "templates").rglob("*.html"))
    reached, ahead = set(), set(re.findall(r"review/js/([\w-]+\.js)", pages))
    while ahead:
        name = ahead.pop()
        reached.add(name)
        imported = _IMPORT.findall((STATIC / "review" / "js" / name).read_text())
        ahead |= {each.removeprefix("./") for each in imported} - reached
    assert reached == {module.name for module in MODULES}


def test_every_key_has_an_intent_that_the_page_acts_on(run):
    rows = run("return (await load('keys.js')).KEYS;")
    page = (STATIC / "review" / "js" / "watching-page.js").read_text()
    acted_on = set()
    for table in ("DOING", "MARKING"):
        body = re.search(rf"const {table} = {{\n(.*?)\n}};", page, re.DOTALL)[1]
        acted_on |= set(re.findall(r"^  (\w+)[:,]", body, re.MULTILINE))
    assert {row["intent"] for row in rows} == acted_on
    keys = [key for row in rows for key in row["keys"]]
    assert len(keys) == len(set(keys)), "a key is bound twice"


def test_no_tag_is_given_a_letter_that_the_page_has_bound(run):
    taken = set(run("return [...(await load('keys.js')).TAKEN];"))
    assert taken.isdisjoint(LETTERS.upper())


def test_a_key_press_is_named_as_the_table_writes_it(run):
    presses = {
        "I": {"key": "i"},
        "Shift I": {"key": "I", "shiftKey": True},
        "Space": {"key": " "},
        "Shift →": {"key": "ArrowRight", "shiftKey": True},
        "Ctrl Z": {"key": "z", "ctrlKey": True},
        "Ctrl Shift Z": {"key": "Z", "ctrlKey": True, "shiftKey": True},
        "?": {"key": "?", "shiftKey": True},
        "Delete": {"key": "Backspace"},
    }
    names = run(
        "const { nameOf } = await load('keys.js');"
        "return given.map((press) => nameOf(new KeyboardEvent('keydown', press)));",
        list(presses.values()),
    )
    assert names == list(presses)
