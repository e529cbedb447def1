"""Every way to change marks, as arithmetic: against sets of frames."""

import random

from tests.browser.naive import ranges_of


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
        runs = ranges_of({frame for range_ in others for frame in range(*range_)})
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
