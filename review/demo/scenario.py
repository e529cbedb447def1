"""What the demo shows: two invented productions, their people, cards and clips (logbook.py has what was logged).

Everything here is data. Times of day are timecode labels; the same *moment* seen by several cameras and heard by the
recorder happens at the same time of day for all of them, so their clips line up.
"""

from dataclasses import dataclass, field
from functools import cached_property

from review.timecode import Rate, Timebase

PAL = Timebase(Rate(25))
DROP = Timebase(Rate(30000, 1001), drop=True)


@dataclass(frozen=True)
class Person:
    """Somebody of the demo: `login` is a first name, `role` is media manager, logger, editor or producer."""

    login: str
    role: str


@dataclass(frozen=True)
class Production:
    """`tags` is the production's tag set: group -> tags, in the order a logger sees them."""

    code: str
    title: str
    timebase: Timebase
    tags: dict[str, tuple[str, ...]]


@dataclass(frozen=True)
class Moment:
    """Something that happened at a place. `beats` maps what happens to its time of day, as a timecode label."""

    place: str
    beats: dict[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Setup:
    """One set-up of a clip: the name of a moment, how it is framed ("" for sound), and for how many seconds."""

    moment: str
    view: str
    seconds: int


@dataclass(frozen=True)
class Clip:
    """One continuous recording over `files` files. `name` is the first one's stem; `start` is frame 0's timecode."""

    name: str
    start: str
    setups: tuple[Setup, ...]
    files: int = 1

    @cached_property
    def seconds(self) -> int:
        """Length in seconds of timecode."""
        return sum(setup.seconds for setup in self.setups)


@dataclass(frozen=True)
class Card:
    """A camera card or a sound card.

    `kind` is mov, mp4, avchd or sound. `folder` is the name it arrives under; `name` the one it should have.
    `checksums` says what came with it: "" for nothing, else ascmhl, md5, sha256, xxh64 (a list inside the folder) or
    xxh128 (a list beside it). `fault` is what is wrong with it: "", "streams only", "flipped byte" or "misnamed".
    """

    name: str
    kind: str
    timebase: Timebase
    clips: tuple[Clip, ...]
    checksums: str = ""
    fault: str = ""
    misnamed: str = ""
    mono_tracks: bool = False  # one track a channel instead of one track with all
    channels: int = 4

    @property
    def folder(self) -> str:
        return self.misnamed or self.name

    @property
    def date(self) -> str:
        """The shoot date as YYYY-MM-DD."""
        digits = self.name.split("-")[1]
        return f"20{digits[:2]}-{digits[2:4]}-{digits[4:]}"

    def clip(self, name: str) -> Clip:
        return next(clip for clip in self.clips if clip.name == name)

    def frames(self, clip: Clip) -> int:
        """How many frames `clip` has: whole seconds of labels."""
        return clip.seconds * self.timebase.rate.nominal


PEOPLE = (
    Person("tove", "media manager"),
    Person("maren", "owner"),
    Person("ilse", "logger"),
    Person("bram", "logger"),
    Person("odd", "logger"),
    Person("sunniva", "editor"),
    Person("peder", "producer"),
)

PRODUCTIONS = (
    Production(
        "KB04",
        "Kestrel Bay",
        PAL,
        {
            "people": ("skipper", "carpenter", "winchman", "apprentice", "villagers"),
            "story": ("the clap", "the haul", "a decision", "work", "waiting", "first light", "last light"),
            "place": ("bay", "slipway", "winch", "workshop", "quay"),
            "kind": ("interview", "action", "detail", "wide", "cutaway", "gull lands", "lens covered", "sync"),
        },
    ),
    Production(
        "NR07",
        "Night Run",
        DROP,
        {
            "people": ("driver", "postmaster"),
            "story": ("departure", "the pass", "oncoming car"),
            "place": ("road", "cab"),
            "kind": ("interview", "action", "detail", "wide", "cutaway"),
        },
    ),
)

MOMENTS = {
    "dawn": Moment("bay", {"gull lands": "07:58:14:00"}),
    "rehearsal": Moment("slipway", {"clap": "08:31:14:00", "haul": "08:31:19:00", "halt": "08:31:26:00"}),
    "the skipper": Moment("portrait", {"gesture": "08:52:36:00"}),
    "winching": Moment("winch", {"haul": "13:20:03:00", "halt": "13:20:10:00"}),
    "lighting up": Moment("workshop", {"lamp lit": "16:05:04:00", "hammer": "16:05:06:00", "rest": "16:05:11:00"}),
    "lens cap": Moment("dark"),
    "morning bench": Moment(
        "workshop", {"lamp lit": "09:00:00:00", "clap": "09:40:07:00", "hammer": "09:40:10:00", "rest": "09:40:17:00"}
    ),
    "the hull moves": Moment("slipway", {"haul": "09:40:26:00", "halt": "09:40:32:00"}),
    "the carpenter": Moment("portrait", {"gesture": "09:40:44:00"}),
    "empty bay": Moment("bay", {"gull lands": "09:40:52:00"}),
    "midday quay": Moment("quay"),
    "afloat": Moment("slipway", {"clap": "11:05:04:00", "haul": "11:05:05:00", "halt": "11:05:11:00"}),
    "dusk quay": Moment("quay", {"lamp lit": "15:30:04:00"}),
    "late bench": Moment("workshop", {"lamp lit": "15:00:00:00", "hammer": "15:40:02:00", "rest": "15:40:06:00"}),
    "the pass": Moment("road", {"oncoming": "20:00:04:00"}),
    "in the cab": Moment("cab", {"oncoming": "20:01:04:00"}),
    "the driver": Moment("portrait", {"gesture": "20:12:04:00"}),
}


def _clip(name: str, start: str, *setups: tuple[str, str, int], files: int = 1) -> Clip:
    return Clip(name, start, tuple(Setup(*setup) for setup in setups), files)


CARDS = (
    Card(
        "KB04-261112-A01",
        "mov",
        PAL,
        (
            _clip("A001C001", "07:58:00:00", ("dawn", "wide", 11), ("dawn", "close", 8)),
            _clip("A001C002", "08:31:10:00", ("rehearsal", "wide", 18)),
            _clip("A001C003", "08:52:30:00", ("the skipper", "wide", 12)),
        ),
        checksums="ascmhl",
    ),
    Card(
        "KB04-261112-A02",
        "mov",
        PAL,
        (
            _clip("A002C001", "13:20:00:00", ("winching", "close", 12)),
            _clip("A002C002", "16:05:00:00", ("lighting up", "wide", 13), ("lens cap", "wide", 3)),
        ),
        checksums="md5",
        mono_tracks=True,
    ),
    Card(
        "KB04-261112-B01",
        "avchd",
        PAL,
        (
            _clip("00000", "08:31:08:00", ("rehearsal", "low", 14), files=2),
            _clip("00002", "13:20:02:00", ("winching", "wide", 8)),
        ),
        channels=2,
    ),
    Card(
        "KB04-261112-C01",
        "mp4",
        PAL,
        (
            _clip("C0001", "07:58:05:00", ("dawn", "low", 12)),
            _clip("C0002", "08:31:11:00", ("rehearsal", "close", 12)),
        ),
        checksums="xxh128",
        channels=2,
    ),
    Card(
        "KB04-261112-S01",
        "sound",
        PAL,
        (
            _clip("T001", "08:31:00:00", ("rehearsal", "", 30)),
            _clip("T002", "08:52:25:00", ("the skipper", "", 24)),
            _clip("T003", "13:19:55:00", ("winching", "", 22)),
        ),
    ),
    Card(
        "KB04-261113-A01",
        "mov",
        PAL,
        (
            _clip(
                "A003C001",
                "09:40:00:00",
                ("morning bench", "wide", 18),
                ("the hull moves", "wide", 15),
                ("the carpenter", "wide", 15),
                ("empty bay", "wide", 7),
                ("midday quay", "wide", 7),
            ),
            _clip("A003C002", "11:05:00:00", ("afloat", "wide", 9)),
        ),
        checksums="sha256",
    ),
    Card(
        "KB04-261113-B01",
        "avchd",
        PAL,
        (
            _clip("00000", "09:40:05:00", ("morning bench", "close", 8)),
            _clip("00001", "11:05:02:00", ("afloat", "low", 6)),
        ),
        channels=2,
    ),
    Card(
        "KB04-261113-B02",
        "avchd",
        PAL,
        (
            _clip("00000", "15:30:01:00", ("dusk quay", "low", 5)),
            _clip("00001", "15:40:01:00", ("late bench", "close", 4)),
        ),
        fault="streams only",
        channels=2,
    ),
    Card(
        "KB04-261113-C01",
        "mp4",
        PAL,
        (
            _clip("C0001", "09:40:22:00", ("the hull moves", "close", 9)),
            _clip("C0002", "15:30:02:00", ("dusk quay", "close", 8)),
        ),
        checksums="md5",
        fault="flipped byte",
        channels=2,
    ),
    Card(
        "KB04-261113-A02",
        "mov",
        PAL,
        (
            _clip("A004C001", "15:30:00:00", ("dusk quay", "wide", 8)),
            _clip("A004C002", "15:40:00:00", ("late bench", "wide", 6)),
        ),
        fault="misnamed",
        misnamed="KB4_261113_A2",
    ),
    Card(
        "KB04-261113-S01",
        "sound",
        PAL,
        (
            _clip(
                "T001", "09:39:55:00", ("morning bench", "", 23), ("the hull moves", "", 14), ("the carpenter", "", 20)
            ),
            _clip("T002", "15:29:55:00", ("dusk quay", "", 18)),
        ),
    ),
    Card(
        "NR07-261113-A01",
        "mov",
        DROP,
        (
            _clip("A001C001", "19:59:57;00", ("the pass", "wide", 12)),
            _clip("A001C002", "20:00:58;00", ("in the cab", "wide", 12)),
            _clip("A001C003", "20:12:00;02", ("the driver", "close", 7)),
        ),
        checksums="xxh64",
        channels=2,
    ),
)


def card(name: str) -> Card:
    """The card of that name; StopIteration is a mistake in this file."""
    return next(each for each in CARDS if each.name == name)
