"""What was watched, as it gathers while the server is away: the shipped module, by its rules."""


def gathered(run, plays: str) -> dict:
    """Let a log hear `plays` with a server that is away and then comes back: what it kept, and what it sent."""
    return run(
        f"""
        const {{ WatchLog }} = await load("watch-log.js");
        const sent = [], kept = [];
        let away = true;
        const send = async (number, spans) => {{
          if (away) throw Object.assign(new Error("away"), {{ passing: true }});
          sent.push([number, spans.map((span) => [span.in_frame, span.out_frame, span.speed])]);
        }};
        const keep = (batches) => kept.push(JSON.stringify(batches));
        const log = new WatchLog({{ numerator: 25, denominator: 1 }}, send, keep);
        const play = (from, to, speed = 1) => {{
          for (let frame = from; frame < to; frame += 1) log.shown(frame, speed, false);
        }};
        {plays}
        const letters = kept.at(-1).length;
        away = false;
        await log.flush();
        return {{ sent, letters, left: kept.at(-1) }};
        """
    )


def test_hours_without_a_server_fit_in_a_few_words(run):
    done = gathered(run, "for (let at = 0; at < 400; at += 1) { play(at * 25, at * 25 + 25); await log.flush(); }")
    assert done["sent"] == [[1, [[0, 25, 1]]], [2, [[25, 10_000, 1]]]], "the first may have arrived: it stays as it is"
    assert done["letters"] < 300
    assert done["left"] == "[]"


def test_what_does_not_go_on_stays_apart(run):
    plays = """
      play(0, 25); await log.flush();
      play(25, 50); log.cut(); play(100, 120); await log.flush();
      play(120, 130, 2); await log.flush();
    """
    assert gathered(run, plays)["sent"] == [
        [1, [[0, 25, 1]]],
        [2, [[25, 50, 1], [100, 120, 1], [120, 130, 2]]],
    ]


def test_a_batch_holds_no_more_spans_than_the_server_takes(run):
    jumps = "for (let at = 0; at < 1200; at += 1) { play(at * 50, at * 50 + 5); log.cut(); await log.flush(); }"
    done = gathered(run, jumps)
    assert [len(spans) for _, spans in done["sent"]] == [1, 500, 500, 199]
    assert [number for number, _ in done["sent"]] == [1, 2, 3, 4]


def test_a_batch_that_a_closing_page_sent_takes_nothing_more_in(run):
    done = gathered(run, "play(0, 25); await log.flush(); play(25, 50); log.leave(); play(50, 60); await log.flush();")
    assert [spans for _, spans in done["sent"]] == [[[0, 25, 1]], [[25, 50, 1]], [[50, 60, 1]]]
