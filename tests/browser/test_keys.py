"""The table of keys, and each person's own keys in it."""

import re
from pathlib import Path

from django.conf import settings as site

from review.crew import habits
from review.marking.tagging import LETTERS

STATIC = Path(site.BASE_DIR) / "review" / "static"


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
    acted_on = {*elsewhere, *re.findall(r"^  (\w+)[:,]", body, re.MULTILINE), "carry", "keeping"}
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
