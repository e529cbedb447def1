"""A timecode typed to go there. Labels: SMPTE ST 12-1, by the same rules as review/timecode.py; the short forms are
common practice, no source."""

import random

import pytest

from review.timecode import Rate, Timebase, TimecodeError

CLIP = {"start": 25 * 36000 + 10, "frames": 25 * 120, "rate": [25, 1, False]}  # from 10:00:00:10
TYPE = """
  const { Timebase } = await load("timecode.js");
  const { typedFrame } = await load("typed.js");
  return given.map(([text, shown, clip]) => {
    const base = new Timebase(...clip.rate);
    try { return typedFrame(text, shown, clip, base); } catch (problem) { return problem.message; }
  });
"""


def test_it_works(run):
    typed = {
        "10:00:31:12": 31 * 25 + 2,
        "10.00.31.12": 31 * 25 + 2,
        "10,00;31:12": 31 * 25 + 2,
        "10003112": 31 * 25 + 2,
        "31:12": 31 * 25 + 2,
        "3112": 31 * 25 + 2,
        "01:31:12": 91 * 25 + 2,
        "13112": 91 * 25 + 2,
        "31.": 31 * 25 - 10,
        "20": 35,
        "+12": 37,
        "+100": 50,
        "+1:00": 50,
        "-1:00": 0,
        " + 5 ": 30,
        "+0": 25,
    }
    assert run(TYPE, [[text, 25, CLIP] for text in typed]) == list(typed.values())


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "is no timecode"),
        ("soon", "is no timecode"),
        ("::", "is no timecode"),
        ("1234567890", "eight digits"),
        ("1:2:3:4:5", "eight digits"),
        ("123:00", "eight digits"),
        ("31:25", "There is no 10:00:31:25 at this rate."),
        ("61:00", "There is no 10:00:61:00 at this rate."),
        ("10:30:00:00", "10:30:00:00 is not in this clip, which runs from 10:00:00:10 to 10:02:00:09."),
        ("09:00:00:00", "is not in this clip"),
        ("-30", "That is not in this clip"),
    ],
)
def test_what_cannot_be_gone_to_says_why(run, text, words):
    assert words in run(TYPE, [[text, 25, CLIP]])[0]


def test_every_label_leads_to_the_frame_that_python_finds(run):
    chance = random.Random(4)
    asked, expected = [], []
    for rate, drop in [
        (Rate(24000, 1001), False),
        (Rate(25), False),
        (Rate(30000, 1001), True),
        (Rate(60000, 1001), True),
    ]:
        timebase = Timebase(rate, drop)
        clip = {"start": 0, "frames": timebase.frames_per_day, "rate": [rate.numerator, rate.denominator, drop]}
        for _ in range(200):
            parts = [chance.randrange(24), chance.randrange(60), chance.randrange(3), chance.randrange(rate.nominal)]
            text = "{:02}:{:02}:{:02}:{:02}".format(*parts)
            asked.append([text, 0, clip])
            try:
                expected.append(timebase.frame(text))
            except TimecodeError:
                expected.append(None)
    for (text, *_), answer, frame in zip(asked, run(TYPE, asked), expected, strict=True):
        assert answer == frame if frame is not None else "There is no" in answer, text


def test_a_clip_over_midnight(run):
    clip = {"start": 2_160_000 - 100, "frames": 300, "rate": [25, 1, False]}
    assert run(TYPE, [["00:00:01:00", 0, clip], ["23:59:58:00", 250, clip]]) == [125, 50]
