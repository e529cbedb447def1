"""How fast a selects list becomes EDL text, beside OpenTimelineIO's CMX3600 writer on such a list.

Run from the top of the repository: python -m tests.bench.bench_exports
"""

import statistics
import time

import opentimelineio as otio

from review.exports import SelectsList, cmx3600, otio_timeline
from tests.exports.pulls import event

EVENTS = 20_000
THEIR_EVENTS = 500  # that writer slows down with the square of the list: a short one is kind to it
ROUNDS = 5
TARGET = 100_000  # events a second


def selects_list(length: int) -> SelectsList:
    """Short selects of a day's clips; one note in four holds letters that must be transliterated."""
    notes = ("looks up", "they all run at once, then one comes back", "", "la chèvre – enfin")
    events = (
        event(
            clip=f"A003C{number // 20:03}",
            file=f"CONTENTS/A003C{number // 20:03}.MXF",
            in_frame=number % 1_900,
            out_frame=number % 1_900 + 50,
            note=notes[number % 4],
        )
        for number in range(length)
    )
    return SelectsList("bench", tuple(events), "KB04")


def cpu_seconds(work) -> float:
    start = time.process_time()
    work()
    return time.process_time() - start


def main() -> None:
    selects = selects_list(EVENTS)
    short = otio_timeline(selects_list(THEIR_EVENTS))[0].content.decode()
    timeline = otio.adapters.read_from_string(short, "otio_json")
    ours, theirs = [], []
    for _ in range(ROUNDS):  # interleaved, so that a busy machine slows both
        ours.append(EVENTS / cpu_seconds(lambda: cmx3600(selects)))
        theirs.append(THEIR_EVENTS / cpu_seconds(lambda: otio.adapters.write_to_string(timeline, "cmx_3600")))
    fast, slow = statistics.median(ours), statistics.median(theirs)
    print(f"EDL text: {fast:,.0f} events/s of CPU time (target {TARGET:,}), best {max(ours):,.0f}")
    print(f"OpenTimelineIO's CMX3600 writer: {slow:,.0f} events/s; ratio {fast / slow:.0f}")


if __name__ == "__main__":
    main()
