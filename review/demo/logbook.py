"""What the demo's people have marked so far (days.py has when they sat down to it, and what was on their screens).

Written with the timecodes that are burned into the pictures; kept, like everything, in frames of the clip.
"""

from dataclasses import dataclass

from review.demo.scenario import card


@dataclass(frozen=True)
class Mark:
    """A select somebody made: frames [in_frame, out_frame) of a clip. `rating` is 0 to 5."""

    logger: str
    card: str
    clip: str
    in_frame: int
    out_frame: int
    tags: tuple[str, ...]
    note: str
    rating: int


def frames_between(card_name: str, clip_name: str, first: str, after: str) -> tuple[int, int]:
    """The frames of a clip from the one labelled `first` up to, not with, the one labelled `after`."""
    on = card(card_name)
    start = on.timebase.frame(on.clip(clip_name).start)
    return on.timebase.frame(first) - start, on.timebase.frame(after) - start


def _mark(logger: str, clip: str, first: str, after: str, tags: str, note: str, rating: int) -> Mark:
    card_name, clip_name = clip.split("/")
    frames = frames_between(card_name, clip_name, first, after)
    return Mark(logger, card_name, clip_name, *frames, tuple(tags.split(", ")), note, rating)


A1, A2, B1, C1 = "KB04-261112-A01/", "KB04-261112-A02/", "KB04-261112-B01/", "KB04-261112-C01/"
LONG = "KB04-261113-A01/A003C001"
NIGHT = "NR07-261113-A01/"

MARKS = (
    _mark(
        "ilse",
        A1 + "A001C001",
        "07:58:01:00",
        "07:58:08:00",
        "bay, wide, first light",
        "Sun coming clear of the headland, swell on the bar. An opener.",
        4,
    ),
    _mark(
        "ilse",
        A1 + "A001C001",
        "07:58:12:10",
        "07:58:17:00",
        "bay, detail, gull lands",
        "Gull comes in from the right and settles on the post.",
        5,
    ),
    _mark(
        "bram",
        A1 + "A001C002",
        "08:31:13:10",
        "08:31:15:05",
        "slipway, the clap, sync",
        "Clap, seen by A, B and C and heard by S.",
        2,
    ),
    _mark(
        "bram",
        A1 + "A001C002",
        "08:31:19:00",
        "08:31:26:15",
        "slipway, the haul, action, wide",
        "The hull creeps up the rails and stops. Hold on the stop.",
        5,
    ),
    _mark(
        "ilse",
        A1 + "A001C002",
        "08:31:10:00",
        "08:31:12:15",
        "slipway, waiting, villagers",
        "Everybody looks at the rope; nobody speaks.",
        3,
    ),
    _mark(
        "ilse",
        A1 + "A001C002",
        "08:31:20:05",
        "08:31:25:00",
        "slipway, the haul, detail",
        "The jerk when the rope takes it.",
        3,
    ),
    _mark(
        "odd",
        A1 + "A001C003",
        "08:52:35:10",
        "08:52:40:00",
        "skipper, interview, a decision",
        "Hand comes up as he makes the point. Good sound on the lapel.",
        4,
    ),
    _mark(
        "odd",
        A2 + "A002C001",
        "13:20:03:00",
        "13:20:10:00",
        "winch, detail, the haul",
        "Drum turning, cable tight.",
        4,
    ),
    _mark(
        "ilse",
        A2 + "A002C002",
        "16:05:03:00",
        "16:05:06:00",
        "workshop, last light, carpenter",
        "Lamp lit: the whole room turns warm.",
        5,
    ),
    _mark(
        "ilse",
        A2 + "A002C002",
        "16:05:06:00",
        "16:05:11:00",
        "workshop, work, action",
        "Hammer strikes, one a second, clean on channel 4.",
        3,
    ),
    _mark("ilse", A2 + "A002C002", "16:05:13:00", "16:05:16:00", "lens covered", "Black to the end.", 0),
    _mark(
        "bram",
        B1 + "00000",
        "08:31:19:00",
        "08:31:22:00",
        "slipway, the haul, action",
        "Low angle, the stem comes over us. Cuts with A.",
        4,
    ),
    _mark("ilse", C1 + "C0001", "07:58:08:00", "07:58:13:00", "bay, cutaway", "Gulls over the post, nobody about.", 3),
    _mark("odd", LONG, "09:40:06:12", "09:40:08:00", "workshop, the clap, sync", "Clap at the bench.", 1),
    _mark(
        "odd",
        LONG,
        "09:40:10:00",
        "09:40:17:00",
        "workshop, carpenter, work",
        "Seven blows, then he rests. The rest is the shot.",
        4,
    ),
    _mark(
        "odd", LONG, "09:40:26:00", "09:40:32:10", "slipway, the haul, wide", "Higher up the rails than yesterday.", 3
    ),
    _mark(
        "bram",
        LONG,
        "09:40:42:15",
        "09:40:47:00",
        "carpenter, interview, a decision",
        "'We keep the old rails.' Hand goes up on it.",
        5,
    ),
    _mark(
        "bram",
        NIGHT + "A001C001",
        "20:00:03:00",
        "20:00:08:00",
        "road, oncoming car, wide",
        "Headlights come round the bend and meet the van.",
        4,
    ),
    _mark(
        "bram",
        NIGHT + "A001C002",
        "20:01:03:00",
        "20:01:07:00",
        "cab, oncoming car, action",
        "Oncoming car fills the windscreen with light.",
        5,
    ),
)
