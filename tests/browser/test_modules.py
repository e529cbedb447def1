"""The page's pure modules, run in a browser, and the way they hang together."""

import json
import random
import re
from pathlib import Path

import pytest
from django.conf import settings as site

from review import frames, habits
from review.tagging import LETTERS

VECTORS = json.loads((Path(__file__).parents[1] / "data" / "timecode_vectors.json").read_text())
STATIC = Path(site.BASE_DIR) / "review" / "static"
MODULES = sorted((STATIC / "review" / "js").glob("*.js"))
_IMPORT = re.compile(r"""^(?:import|export)\s[^;]*?from\s+["']([^"']+)["'];?$""", re.MULTILINE)


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
    rows, elsewhere = run(
        """
        const { KEYS } = await load("keys.js");
        const { PLAYING } = await load("transport.js");
        const { GOING } = await load("going.js");
        const { MARKING } = await load("marking.js");
        return [KEYS, Object.keys({ ...PLAYING, ...GOING, ...MARKING })];
        """
    )
    page = (STATIC / "review" / "js" / "watching-page.js").read_text()
    body = re.search(r"const PAGE = {\n(.*?)\n};", page, re.DOTALL)[1]
    acted_on = {*elsewhere, *re.findall(r"^  (\w+)[:,]", body, re.MULTILINE), "carry"}
    assert {row["intent"].split(":")[0] for row in rows} == acted_on
    assert len({row["intent"] for row in rows}) == len(rows), "two rows do the same"
    keys = [key for row in rows for key in row["keys"]]
    assert len(keys) == len(set(keys)), "a key is bound twice"
    buttons = re.findall(r'data-do="(\w+)"', (STATIC.parent / "templates" / "review" / "clip.html").read_text())
    assert len(buttons) > 10 and set(buttons) <= {row["intent"] for row in rows}


def test_the_server_keeps_every_key_and_intent_of_the_table(run, cast):
    rows = run("return (await load('keys.js')).KEYS;")
    kept = habits.keep(cast.logger, {row["intent"]: row["keys"] for row in rows})
    assert len(kept["keys"]) == len(rows)


def test_no_tag_is_given_a_letter_that_the_page_has_bound(run):
    taken = set(run("const { KEYS, lettersOf } = await load('keys.js'); return [...lettersOf(KEYS)];"))
    assert taken == set("KLJMUION")
    assert taken.isdisjoint(LETTERS.upper())


def test_own_keys_take_the_place_of_the_usual_ones_and_never_do_two_things(run):
    answers = run(
        """
        const { give, giveBack, withOwn } = await load("own-keys.js");
        const table = [
          { intent: "toggle", keys: ["Space", "K"], words: "play, pause" },
          { intent: "forwards", keys: ["L"], words: "forwards" },
        ];
        const keys = (own) => withOwn(table, own).map((row) => row.keys);
        const first = give(table, {}, "toggle", "F2");
        const second = give(table, first.own, "forwards", "Space");
        return {
          usual: keys({}),
          first: keys(first.own),
          taken: give(table, {}, "forwards", "K"),
          freed: keys(second.own),
          same: keys(give(table, {}, "toggle", "K").own),
          back: keys(giveBack(table, first.own, "toggle").own),
          refusedBack: giveBack(table, second.own, "toggle"),
          noKey: give(table, {}, "forwards", "Dead"),
        };
        """
    )
    assert answers == {
        "usual": [["Space", "K"], ["L"]],
        "first": [["F2", "K"], ["L"]],
        "taken": {"refused": "K is “play, pause”: give that another key first."},
        "freed": [["F2", "K"], ["Space"]],
        "same": [["K"], ["L"]],
        "back": [["Space", "K"], ["L"]],
        "refusedBack": {"refused": "Space, K is “forwards” now: give that its usual key first."},
        "noKey": {"refused": "Dead cannot be chosen here: take a letter, a sign, an arrow or an F key."},
    }


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


# The rules of the outbox ------------------------------------------------------------------------

# A server as review/selecting.py describes it, and one select's wishes on their way to it.
_SERVER = """
  const rules = await load("outbox-rules.js");
  const content = (rating) => ({ in_frame: 0, out_frame: 10, tags: [], note: "", rating });
  const make = (stamp, rating, version, over = null) => {
    const [method, said] = rating === null ? ["DELETE", {}] : ["PUT", content(rating)];
    return rules.makeWish(stamp, 0, method, { ...said, version }, over);
  };
  const server = {
    select: null,
    writes: 0,
    take(wish) {
      const { version, ...said } = wish.body;
      const deleting = wish.method === "DELETE";
      if (!this.select) {
        if (deleting) return { deleted: true, version: 0 };
        this.writes += 1;
        return (this.select = { ...said, deleted: false, version: 1 });
      }
      if (rules.saying(this.select) === rules.saying(wish)) return this.select;
      if (version !== this.select.version) throw { status: 409, passing: false, body: { current: this.select } };
      this.writes += 1;
      return (this.select = { ...this.select, ...(deleting ? {} : said), deleted: deleting, version: version + 1 });
    },
  };
"""


def test_what_is_sent_over_a_network_that_loses_answers_arrives_and_nobody_is_asked(run):
    told = run(
        _SERVER
        + """
        let state = given;
        const chance = (below) => {
          state = (state * 1103515245 + 12345) % 2147483648;
          return Math.floor((state / 2147483648) * below);
        };
        const wrong = [];
        for (let round = 0; round < 400; round += 1) {
          server.select = null;
          let [line, shown, version, newest, made] = [[], null, 0, null, 0];
          const send = (fate) => {
            line = rules.lend(line);
            const [wish] = line;
            if (!wish || fate === "not reached") return;
            try {
              const answer = server.take(wish);
              if (fate === "answer lost") return;
              line = rules.settle(line, wish, answer.version);
              version = answer.version;
              if (shown?.stamp === wish.stamp) shown = null;
            } catch (problem) {
              const verdict = rules.verdict(problem, wish);
              if (verdict !== "ours") wrong.push([round, verdict]);
              line = rules.rebase(line, wish, problem.body.current.version);
            }
          };
          for (let step = 0; step < 12; step += 1) {
            if (chance(3)) send(["arrives", "answer lost", "not reached"][chance(3)]);
            else {
              newest = chance(5) && made ? chance(6) : made ? null : 3;
              const wish = make(`${round}:${(made += 1)}`, newest, version, shown?.stamp ?? null);
              line = rules.admit(line, wish, shown);
              shown = wish;
            }
          }
          for (let tries = 0; line.length && tries < 30; tries += 1) send("arrives");
          const there = server.select && !server.select.deleted ? server.select.rating : null;
          if (line.length || there !== newest) wrong.push([round, line, there, newest]);
        }
        return wrong;
        """,
        20261112,
    )
    assert told == []


def test_of_two_tabs_that_did_not_know_of_each_other_the_second_is_asked(run):
    answer = run(
        _SERVER
        + """
        server.take(make("first", 1, 0));
        let line = rules.admit([], make("one", 2, 1));
        line = rules.admit(line, make("two", 3, 1)); // made from what the server had, not over the other tab's
        line = rules.lend(line);
        line = rules.settle(line, line[0], server.take(line[0]).version);
        line = rules.lend(line);
        try {
          server.take(line[0]);
        } catch (problem) {
          return [rules.verdict(problem, line[0]), server.select.rating, line.length];
        }
        """
    )
    assert answer == ["conflict", 2, 1]


def test_a_wish_over_another_takes_its_place_and_one_that_came_meanwhile_stays(run):
    answer = run(
        _SERVER
        + """
        const stamps = (line) => line.map((wish) => [wish.stamp, wish.body.version]);
        const one = make("one", 1, 0);
        const sent = rules.lend(rules.admit([], one));
        const both = rules.admit(sent, make("two", 2, 0, "one"), sent[0]);
        return {
          twice: stamps(rules.admit(sent, one)),
          replaced: stamps(both),
          settled: stamps(rules.settle(both, sent[0], 1)),
          settledAlone: stamps(rules.settle(sent, sent[0], 1)),
          dropped: stamps(rules.drop(both, "one")),
        };
        """
    )
    assert answer == {
        "twice": [["one", 0]],
        "replaced": [["two", 0]],
        "settled": [["two", 1]],
        "settledAlone": [],
        "dropped": [["two", 0]],
    }


def test_what_a_refusal_means(run):
    answers = run(
        _SERVER
        + """
        const wish = { ...make("two", 2, 0), sent: [rules.saying(content(1))] };
        const tidied = { ...content(1), note: "", tags: [], version: 1, deleted: false };
        const problems = {
          away: { passing: true, status: 0 },
          refused: { passing: false, status: 400, body: { detail: "no" } },
          ours: { passing: false, status: 409, body: { current: tidied } },
          conflict: { passing: false, status: 409, body: { current: { ...tidied, rating: 5 } } },
        };
        return Object.entries(problems).map(([name, problem]) => [name, rules.verdict(problem, wish)]);
        """
    )
    assert len(answers) == 4
    for expected, answer in answers:
        assert answer == expected


def test_where_a_select_stands(run):
    answers = run(
        """
        const { standing } = await load("outbox-rules.js");
        const line = [{}];
        return [
          standing(undefined, {}), standing([], {}), standing(line, { keeping: true }), standing(line, {}),
          standing(line, { flying: true }), standing(line, { refused: {} }),
        ];
        """
    )
    assert answers == ["saved", "saved", "keeping", "kept", "sending", "refused"]


# The store --------------------------------------------------------------------------------------


@pytest.mark.parametrize("refused", ["", "indexedDB", "indexedDB localStorage"])
def test_marks_are_kept_in_the_best_place_that_the_browser_allows(room, refused):
    kinds = {"": "database", "indexedDB": "local storage", "indexedDB localStorage": "memory"}
    room.expected.append("refused here$")  # said by whatever else on the page would keep something
    context = room.context()
    for name in refused.split():
        refusing = "{ get() { throw new DOMException('refused here', 'SecurityError'); } }"
        context.add_init_script(f"Object.defineProperty(window, '{name}', {refusing});")
    page = context.new_page()
    page.goto("/sign-in/")
    answer = page.evaluate(
        """async (static) => {
          const { Store } = await import(`${static}review/js/store.js`);
          const { admit, makeWish } = await import(`${static}review/js/outbox-rules.js`);
          const store = await Store.open();
          for (const [at, [clip, id]] of [["7", "a"], ["7", "b"], ["70", "c"]].entries()) {
            const wish = makeWish(`stamp ${at}`, 10 - at, "PUT", { version: 0 });
            await store.admit("logger", clip, id, wish, (line) => admit(line, wish));
          }
          await store.change("logger", "70", "c", () => []);
          const other = makeWish("d", 0, "PUT", { version: 0 });
          await store.admit("editor", "7", "d", other, (line) => admit(line, other));
          const ids = async (kept) => (await kept.all("logger", 7)).map(([id]) => id);
          return [store.kind, await ids(store), await store.clips("logger"), await ids(await Store.open())];
        }""",
        site.STATIC_URL,
    )
    # oldest first; what is in memory alone is not there for the next one
    assert answer == [kinds[refused], ["b", "a"], ["7"], [] if "localStorage" in refused else ["b", "a"]]


def test_what_an_older_page_left_moves_into_the_database(run):
    answer = run(
        """
        const left = { method: "PUT", body: { clip: 7, version: 2, rating: 1 } };
        localStorage.setItem("rushlight-outbox:logger:7:some-id", JSON.stringify(left));
        localStorage.setItem("rushlight-outbox:logger:7:broken", "{");
        const { Store } = await load("store.js");
        const [one, two] = await Promise.all([Store.open(), Store.open()]); // two tabs at once
        const [[id, line]] = await two.all("logger", 7);
        return [id, line.length, line[0].method, line[0].body, Object.keys(localStorage)];
        """
    )
    assert answer == [
        "some-id",
        1,
        "PUT",
        {"clip": 7, "version": 2, "rating": 1},
        ["rushlight-outbox:logger:7:broken"],  # what cannot be read is left alone
    ]


def test_two_at_once_never_write_over_each_other(run):
    answer = run(
        """
        const { Store } = await load("store.js");
        const stores = await Promise.all([Store.open(), Store.open()]);
        const adding = [];
        for (let at = 0; at < 40; at += 1) {
          adding.push(stores[at % 2].change("logger", "7", "a", (line) => [...line, { at }]));
        }
        await Promise.all(adding);
        return (await stores[0].all("logger", 7))[0][1].map(({ at }) => at);
        """
    )
    assert sorted(answer) == list(range(40))


def test_when_the_database_fails_what_it_held_goes_on_in_the_next_best_place(run):
    answer = run(
        """
        const { Store } = await load("store.js");
        const store = await Store.open();
        await store.change("logger", "7", "a", () => [{ at: 1 }]);
        let weaker = 0;
        store.addEventListener("weaker", () => (weaker += 1));
        IDBObjectStore.prototype.put = function () {
          this.transaction.abort(); // as a full disk does
        };
        await Promise.all(["b", "c"].map((id) => store.change("logger", "7", id, () => [{ at: 2 }])));
        return [store.kind, weaker, (await store.all("logger", 7)).map(([id]) => id)];
        """
    )
    assert answer == ["local storage", 1, ["a", "b", "c"]]


# Marks, as arithmetic ---------------------------------------------------------------------------


def test_splitting_and_joining_do_what_sets_of_frames_do(run):
    # the naive model: a select is the set of its frames
    chance = random.Random(11)
    marks = [sorted(chance.sample(range(31), 2)) for _ in range(200)]
    answers = run(
        """
        const { join, split, CannotEdit } = await load("mark-edits.js");
        const content = ([in_frame, out_frame]) => ({ in_frame, out_frame, tags: [], note: "", rating: 0 });
        const ends = ({ in_frame, out_frame }) => [in_frame, out_frame];
        const attempt = (work) => {
          try {
            return work();
          } catch (problem) {
            if (!(problem instanceof CannotEdit)) throw problem;
            return null;
          }
        };
        return given.map((mark, at) => {
          const others = [mark, given[(at + 1) % given.length], given[(at + 2) % given.length]];
          return {
            split: attempt(() => split(content(mark), 15).map(ends)),
            joined: attempt(() => ends(join(others.map(content)))),
          };
        });
        """,
        marks,
    )
    joined = 0
    for at, ((start, end), answer) in enumerate(zip(marks, answers, strict=True)):
        frames_of = set(range(start, end))
        if start < 15 < end:
            first, second = (set(range(*part)) for part in answer["split"])
            assert (first | second, first & second) == (frames_of, set())
            assert max(first) == 14
        else:
            assert answer["split"] is None
        others = [marks[(at + more) % len(marks)] for more in range(3)]
        runs = _runs({frame for range_ in others for frame in range(*range_)})
        assert answer["joined"] == (runs[0] if len(runs) == 1 else None)
        joined += len(runs) == 1
    assert 20 < joined < 200


def test_joined_selects_keep_all_tags_and_notes_and_the_highest_rating(run):
    answer = run(
        """
        const { join } = await load("mark-edits.js");
        const late = { in_frame: 10, out_frame: 30, tags: ["Net", "gull"], note: "It lands.", rating: 2 };
        const early = { in_frame: 0, out_frame: 10, tags: ["gull"], note: "It comes.", rating: 4 };
        const silent = { in_frame: 5, out_frame: 12, tags: ["NET"], note: "It lands. ", rating: 0 };
        return join([late, early, silent]);
        """
    )
    assert answer == {
        "in_frame": 0,
        "out_frame": 30,
        "tags": ["gull", "NET"],
        "note": "It comes.\nIt lands.",
        "rating": 4,
    }


def test_moving_a_select_stays_in_the_clip_and_keeps_a_frame(run):
    answers = run(
        """
        const { shift, nudgeIn, nudgeOut, trim, CannotEdit } = await load("mark-edits.js");
        const attempt = (work) => {
          try {
            const { in_frame, out_frame } = work();
            return [in_frame, out_frame];
          } catch (problem) {
            return problem instanceof CannotEdit ? problem.message : String(problem);
          }
        };
        const mark = { in_frame: 4, out_frame: 8 };
        return [
          attempt(() => shift(mark, 1, 10)), attempt(() => shift(mark, 7, 10)), attempt(() => shift(mark, -9, 10)),
          attempt(() => shift({ in_frame: 6, out_frame: 10 }, 1, 10)),
          attempt(() => nudgeIn(mark, -1)), attempt(() => nudgeIn({ in_frame: 0, out_frame: 1 }, -1)),
          attempt(() => nudgeIn({ in_frame: 7, out_frame: 8 }, 1)),
          attempt(() => nudgeOut(mark, 1, 10)), attempt(() => nudgeOut({ in_frame: 4, out_frame: 10 }, 1, 10)),
          attempt(() => nudgeOut({ in_frame: 7, out_frame: 8 }, -1, 10)),
          attempt(() => trim(mark, { in_frame: 7 }, 10)),
        ];
        """
    )
    assert answers == [
        [5, 9],
        [6, 10],
        [0, 4],
        "The select stands at the clip's last frame already.",
        [3, 8],
        "In stands on the clip's first frame already.",
        "In must stay before out.",
        [4, 9],
        "Out stands on the clip's last frame already.",
        "In must stay before out.",
        [7, 8],
    ]


def test_the_catch_reaches_back_by_the_clock_and_holds_the_frame_on_the_screen(run):
    # arithmetic: ten seconds are 250 frames at 25, and 300 (299.7) at 30000/1001
    answers = run(
        """
        const { caught } = await load("mark-edits.js");
        const [pal, ntsc] = [{ numerator: 25, denominator: 1 }, { numerator: 30000, denominator: 1001 }];
        return [caught(999, 10, pal), caught(999, 10, ntsc), caught(100, 10, pal), caught(0, 1, pal)];
        """
    )
    assert answers == [[750, 1000], [700, 1000], [0, 101], [0, 1]]


def test_in_and_out_make_a_range_in_either_order(run):
    answers = run(
        """
        const { markedIn, markedOut, bandOf } = await load("open-mark.js");
        const press = (keys) => {
          let [open, made, late] = [null, [], 0];
          for (const [key, frame] of keys) {
            const answer = (key === "I" ? markedIn : markedOut)(open, frame);
            open = answer.open;
            if (answer.range) made.push(answer.range);
            late += answer.late;
          }
          return [open && bandOf(open, 20), made, late];
        };
        return given.map(press);
        """,
        [
            [["I", 5], ["O", 9]],
            [["O", 9], ["I", 5]],
            [["I", 5], ["O", 5]],  # one frame
            [["O", 5], ["I", 5]],
            [["I", 5], ["I", 7], ["O", 9]],  # in anew
            [["O", 9], ["O", 7], ["I", 5]],  # out anew
            [["I", 5], ["O", 3], ["O", 9]],  # out before in is refused, and the mark goes on
            [["O", 3], ["I", 5], ["O", 9]],  # in after out begins anew
            [["I", 5]],
            [["O", 30]],
        ],
    )
    assert answers == [
        [None, [[5, 10]], 0],
        [None, [[5, 10]], 0],
        [None, [[5, 6]], 0],
        [None, [[5, 6]], 0],
        [None, [[7, 10]], 0],
        [None, [[5, 8]], 0],
        [None, [[5, 10]], 1],
        [None, [[5, 10]], 1],
        [[5, 21], [], 0],
        [[20, 31], [], 0],
    ]


def test_tags_stand_in_the_groups_of_the_trade_and_always_in_the_same_order(run):
    tags = [
        {"name": name, "group": group, "key": key}
        for name, group, key in [
            ("gull", "kind", ""),
            ("harbour", "Place", ""),
            ("Áine", "people", ""),
            ("Skipper", "people", "s"),
            ("storm", "story", ""),
            ("loose", "", ""),
            ("arc 10", "story", ""),
            ("arc 9", "story", ""),
            ("lens", "camera", ""),
        ]
    ]
    orders = run(
        """
        const { onBoard } = await load("tag-rules.js");
        const order = (tags) => onBoard(tags).map(([group, some]) => [group, some.map((tag) => tag.name)]);
        return [order(given), order([...given].reverse())];
        """,
        tags,
    )
    assert orders[0] == [
        ["people", ["Skipper", "Áine"]],
        ["story", ["arc 9", "arc 10", "storm"]],
        ["place", ["harbour"]],
        ["kind", ["gull"]],
        ["camera", ["lens"]],
        ["other", ["loose"]],
    ]
    assert orders[1] == orders[0]


def test_typing_finds_the_likeliest_tag_first(run):
    names = ["the net", "internet", "Network", "net", "Málaga", "gull"]
    found = run(
        """
        const { matching, tidy } = await load("tag-rules.js");
        const tags = given.map((name) => ({ name, group: "", key: "" }));
        const found = (text) => matching(tags, text).map((tag) => tag.name);
        return [...["net", "malag", "zzz"].map(found), tidy("  low,  tide ")];
        """,
        names,
    )
    assert found == [["net", "Network", "the net", "internet"], ["Málaga"], [], "low tide"]
