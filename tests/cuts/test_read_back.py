"""Our own exports, read back by our own reader, are exactly the selects that they were made from."""

from dataclasses import replace

from hypothesis import given, settings

from review.cuts import Footage, KnownClip, read
from review.exports import cmx3600
from tests.exports.pulls import pulls


def named_apart(selects):
    """The same with each event's clip under a name of its own: of two alike, nobody can say which was meant."""
    events = (
        replace(event, file=event.file.replace("DCIM/", f"DCIM/{place:04} ", 1), clip=f"{place:04} {event.clip}")
        for place, event in enumerate(selects.events)
    )
    return replace(selects, events=tuple(events))


def known(selects) -> dict[tuple, KnownClip]:
    """The clips of a pull, each once."""
    clips: dict[tuple, KnownClip] = {}
    for event in selects.events:
        key = (event.card, event.file, event.clip, event.clip_start, event.clip_frames)
        clips.setdefault(
            key,
            KnownClip(
                id=len(clips),
                card_id=0,
                card=event.card,
                reel=event.reel,
                name=event.clip,
                files=(event.file,),
                timebase=event.timebase,
                start=event.clip_start,
                frames=event.clip_frames,
                source_timecode=event.source_timecode,
            ),
        )
    return clips


def frames_of_day(clip: KnownClip, in_frame: int, out_frame: int) -> tuple:
    day = clip.timebase.frames_per_day
    return clip.reel, (clip.start + in_frame) % day, out_frame - in_frame


@settings(max_examples=60, deadline=None)
@given(pulls().map(named_apart))
def test_exports_read_back_give_the_selects_they_were_made_from(selects):
    (file,) = cmx3600(selects)
    found = Footage(list(known(selects).values()), selects.events[0].timebase).find(read(file.content).events)
    expected = []
    for event in selects.events:
        day = event.timebase.frames_per_day
        start = event.source_frame % day
        today = min(event.length, day - start)  # an event is cut where its timecode passes midnight
        expected.append((event.reel, start, today))
        if today < event.length:
            expected.append((event.reel, 0, event.length - today))
    assert [frames_of_day(each.clip, each.in_frame, each.out_frame) for each in found] == expected
    assert {each.sure for each in found} <= {"sure", "likely"}  # likely: where several clips hold the timecode
    for each in found:
        if each.sure == "likely":
            assert "clips hold this timecode" in each.why or "names another clip" in each.why
