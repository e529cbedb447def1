"""Timecode and ranges as the page works them out, against the same in Python."""

import json
import random
from pathlib import Path

from review import frames
from review.pages.words import duration
from tests.browser.naive import ranges_of

VECTORS = json.loads((Path(__file__).parents[1] / "data" / "timecode_vectors.json").read_text())


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
        assert joined == ranges_of(held)
        assert free == ranges_of(set(range(24)) - held)
        assert many == len(held)
        assert untouched, "the ranges that were given must not be changed"
        # and as the server does it
        forwards = [(start, end) for start, end in ranges if start < end]
        assert [list(each) for each in frames.union(forwards)] == joined


def test_lengths_are_said_as_the_server_says_them(run):
    lengths = [tenths / 2 for tenths in range(0, 300)] + [3599.4, 3599.5, 3600, 7259.5, 360_000]
    said = run('const { duration } = await load("durations.js"); return given.map(duration);', lengths)
    assert said == [duration(seconds) for seconds in lengths]
