"""An EDL lands on the right frames of the originals.

Every frame of these originals carries its own number in the picture. The EDL is read by OpenTimelineIO's adapter, the
originals are sought by nothing but the EDL's reel and source timecode (the start timecode is read from the file by
PyAV), and what is in the picture is compared with what was marked. So three programs that are not ours stand between
the mark and the picture.
"""

import re
import uuid
from pathlib import Path

import av
import opentimelineio as otio
import pytest

from review.demo.frame_number import read_number
from review.desk import arranging, lists
from review.marking import selecting
from tests.conftest import check, film

# The adapter wants this very number; the label of frame n counts n from midnight at the nominal rate.
RATES = {"25": 25.0, "30000/1001": 30000 / 1001}


def originals(root: Path) -> dict[str, Path]:
    """Reel -> the one file of the card whose name gives that reel: last digit of the year, MMDD, camera, number."""
    found = {}
    for folder in root.iterdir():
        _, day, camera = folder.name.split("-")
        found[day[1:] + camera] = next(folder.rglob("*.MOV"))
    return found


def picture_at(path: Path, frame: int, rate: float) -> int | None:
    """The number in the picture that is shown at `frame` frames of the day, counted as the file's own timecode."""
    with av.open(str(path)) as container:
        stream = container.streams.video[0]
        label = stream.metadata["timecode"]
        start = int(otio.opentime.from_timecode(label, rate).value)  # exact from here on: PyAV's rates are fractions
        wanted = (frame - start) / stream.average_rate / stream.time_base
        container.seek(int(wanted), stream=stream)
        for picture in container.decode(stream):
            if picture.pts >= wanted:
                return read_number(picture.to_ndarray(format="gray"))
    return None


@pytest.mark.parametrize(
    ("rate", "starts", "marks"),
    [
        ("25", ("10:00:00:00", "23:59:58:00"), [(0, 0, 1), (0, 30, 75), (1, 12, 40), (0, 99, 100), (0, 0, 100)]),
        # 10:00:59;20 to 10:01:02;20: the labels ;00 and ;01 of the minute are dropped (SMPTE ST 12-1)
        ("30000/1001", ("10:00:59;20", "10:09:58;15"), [(0, 0, 10), (0, 9, 11), (0, 10, 90), (1, 40, 50), (1, 0, 100)]),
    ],
)
def test_first_and_last_frame_of_every_event_are_those_that_were_marked(cast, root, rate, starts, marks):
    clips = []
    for number, start in enumerate(starts, 1):
        folder = root / f"KB04-261112-A{number:02}"
        film(folder / "CLIP" / f"A00{number}C001.MOV", frames=100, rate=rate, start=start)
        clips.append(check(folder, cast.kb04).clips.select_related("card__production").get())
    made = [
        selecting.put(cast.logger, uuid.uuid4(), clips[clip], selecting.Mark(in_frame, out_frame), 0).id
        for clip, in_frame, out_frame in marks
    ]
    edl = lists.export(lists.make(cast.editor, cast.kb04, "landing", made), "edl").content.decode("ascii")
    assert re.search("^FCM: DROP FRAME" if ";" in starts[0] else "^FCM: NON-DROP FRAME", edl, re.MULTILINE)

    assert landed(edl, root, RATES[rate]) == marks


def landed(edl: str, root: Path, rate: float) -> list[tuple[int, int, int]]:
    """Of each event: 0 for card 1 or 1 for card 2, and what numbers its first frame and the one after its last have."""
    events = otio.adapters.read_from_string(edl, "cmx_3600", rate=rate).video_tracks()[0].find_clips()
    found, files = [], originals(root)
    for event in events:
        path, first = files[event.metadata["cmx_3600"]["reel"]], int(event.source_range.start_time.value)
        last = first + int(event.source_range.duration.value) - 1
        clip = 0 if "A01" in str(path) else 1
        found.append((clip, picture_at(path, first, rate), picture_at(path, last, rate) + 1))
    return found


def test_trims_handles_and_merged_selects_land_on_their_frames_too(cast, root):
    folder = root / "KB04-261112-A01"
    film(folder / "CLIP" / "A001C001.MOV", frames=100, rate="25", start="10:00:00:00")
    clip = check(folder, cast.kb04).clips.select_related("card__production").get()
    ids = [
        selecting.put(cast.logger, uuid.uuid4(), clip, selecting.Mark(*ends), 0).id
        for ends in [(60, 70), (2, 10), (40, 50), (66, 80)]
    ]
    made = lists.make(cast.editor, cast.kb04, "landing", ids)
    made, _ = arranging.trim(cast.editor, made, 1, ids[2], 43, 45)
    made = lists.settle(cast.editor, made, 2, handles=160, merge=True)  # four frames at 25
    edl = lists.export(made, "edl").content.decode("ascii")
    assert landed(edl, root, 25.0) == [(0, 56, 84), (0, 0, 14), (0, 39, 49)]
