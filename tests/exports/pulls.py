"""A small fixed pull, and hostile ones, for the export tests."""

from datetime import date

from hypothesis import strategies as st

from review.exports import Event, SelectsList
from review.timecode import Rate, Timebase

PAL = Timebase(Rate(25))
DROP = Timebase(Rate(30000, 1001), drop=True)
TIMEBASES = (
    Timebase(Rate(24000, 1001)),
    Timebase(Rate(24)),
    PAL,
    Timebase(Rate(30000, 1001)),
    DROP,
    Timebase(Rate(50)),
    Timebase(Rate(60000, 1001), drop=True),
)
CARDS = (("KB04-261112-A03", "61112A03"), ("KB04-261112-B01", "61112B01"), ("KB04-261113-A01", "61113A01"))


def event(**changes) -> Event:
    """Four seconds of goats at 10:00:02:00, unless `changes` say otherwise."""
    facts = {
        "card": "KB04-261112-A03",
        "reel": "61112A03",
        "camera": "A",
        "shoot_date": date(2026, 11, 12),
        "file": "CONTENTS/A003C001.MXF",
        "clip": "A003C001",
        "timebase": PAL,
        "clip_start": 900_000,
        "clip_frames": 2_000,
        "in_frame": 50,
        "out_frame": 150,
        "has_picture": True,
        "channels": 2,
        "source_timecode": True,
        "tags": ("goats",),
        "note": "they all look up at once",
        "rating": 3,
        "logger": "Ines",
        "select_id": "5f0c2c1e-7f0e-4a57-9d6b-4a2f5c6f9f10",
    }
    return Event(**(facts | changes))


def pull(*events: Event, title: str = "Day 3 goats") -> SelectsList:
    return SelectsList(title, events, "KB04")


# What people type, and what a file system allows: readers of EDLs take some of these for orders of their own.
hostile_texts = st.one_of(
    st.text(max_size=255),
    st.sampled_from(
        (
            "LOC: 01:00:00:00 RED here",
            "M2 A003 050.0 01:00:00:00",
            "FROM FILE: /x/y.[1-9].exr",
            "ASC_SOP broken",
            "* FREEZE FRAME",
            "TITLE: not one",
            "FCM: DROP FRAME",
            "001  BL       V     C        00:00:00:00 00:00:01:00 01:00:00:00 01:00:01:00",
            "one\r\ntwo\n\n002  three\x0bfour\x0cfive\x1csix\x85seven\u2028eight",
            "\x00\x07\x1b[31m\x7f tab\there",
            "=SUM(A1:A9)",
            "\"quoted\", 'so', “and so”",
            "山羊が見上げる 🐐🐐",
            "Übergrößenträger à l’œuvre",
            "x" * 255,
            "山" * 255,
        )
    ),
)


@st.composite
def events(draw, timebase: Timebase) -> Event:
    """A select of up to two minutes, often about a minute start or midnight."""
    card, reel = draw(st.sampled_from(CARDS))
    day = timebase.frames_per_day
    length = draw(st.integers(1, 120 * timebase.rate.nominal))
    return event(
        card=card,
        reel=reel,
        timebase=timebase,
        file=f"DCIM/{draw(hostile_texts)}.MP4",
        clip=draw(hostile_texts),
        clip_start=draw(st.one_of(st.integers(0, day - 1), st.integers(day - 8_000, day - 1), st.just(day - length))),
        in_frame=(start := draw(st.sampled_from((0, 1, 1_000)))),
        out_frame=start + length,
        clip_frames=start + length,
        has_picture=draw(st.booleans()),
        channels=draw(st.integers(1, 6)),
        source_timecode=draw(st.booleans()),
        tags=tuple(draw(st.lists(hostile_texts, max_size=2))),
        note=draw(hostile_texts),
    )


@st.composite
def pulls(draw) -> SelectsList:
    """Up to 40 events of one timebase."""
    timebase = draw(st.sampled_from(TIMEBASES))
    return pull(*draw(st.lists(events(timebase), min_size=1, max_size=40)), title=draw(hostile_texts))
