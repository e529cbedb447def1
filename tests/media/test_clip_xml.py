"""The XML that cameras write beside a clip.

`NonRealTimeMeta`: values of published samples whose frame counts agree with their labels (arithmetic). `ClipContent`:
element names as MediaInfoLib's reader has them; DropFrameFlag from memory.
"""

import pytest

from review.media.clip_xml import ClipXml, read_clip_xml
from review.media.timecode_sources import CLIP_XML, Source
from review.timecode import Rate

R25, R2997, R50, R5994 = Rate(25), Rate(30000, 1001), Rate(50), Rate(60000, 1001)


def non_real_time(*changes: tuple[int, str], fps: int = 25, duration: int | None = None, half: bool = False) -> bytes:
    table = "".join(f'<LtcChange frameCount="{at}" value="{word}" status="increment"/>' for at, word in changes)
    length = f'<Duration value="{duration}"/>' if duration is not None else ""
    return (
        f'<?xml version="1.0" encoding="UTF-8"?><NonRealTimeMeta xmlns="urn:example:ver.2.00">{length}'
        f'<LtcChangeTable tcFps="{fps}" halfStep="{str(half).lower()}">{table}</LtcChangeTable>'
        '<CreationDate value="2026-11-12T19:57:30+01:00"/></NonRealTimeMeta>'
    ).encode()


def clip_content(label: str, rate: str, duration: int = 100, flag: str = "") -> bytes:
    return (
        f'<Main xmlns="urn:example"><ClipContent><ClipName>KB04</ClipName><Duration>{duration}</Duration>'
        f"<EditUnit>1/25</EditUnit><EssenceList><Video><FrameRate{flag}>{rate}</FrameRate>"
        f"<StartTimecode>{label}</StartTimecode></Video><Audio/></EssenceList></ClipContent></Main>"
    ).encode()


def test_it_works():
    xml = read_clip_xml(non_real_time((0, "17305719"), (4379, "21250020"), duration=4380))
    assert xml.source(R25) == Source(CLIP_XML, "19:57:30:17")
    assert xml.notes(R25, 4380) == ()
    assert xml.shot_at == "2026-11-12T19:57:30"


@pytest.mark.parametrize(
    ("changes", "fps", "half", "rate"),
    [
        (((0, "67212901"), (389, "66342901")), 30, False, R2997),
        (((0, "40000000"), (209, "54830000")), 30, True, R5994),  # 209 = 3 x 60 + 2 x 14 + 1
    ],
)
def test_drop_frame_and_pairs_run_on(changes, fps, half, rate):
    xml = read_clip_xml(non_real_time(*changes, fps=fps, half=half))
    assert xml.source(rate).drop
    assert xml.notes(rate, 0) == ()


def test_breaks_are_told_by_the_frame():
    xml = read_clip_xml(non_real_time((0, "00000010"), (50, "00100010"), (75, "00110010"), (99, "23110010")))
    assert xml.notes(R25, 100) == (
        "timecode breaks at frame 50: the clip XML goes on from 10:00:10:00 there",
        "timecode breaks at frame 99: the clip XML goes on from 10:00:11:23 there",
    )


def test_a_hundred_breaks_are_told_shortly():
    changes = [(frame, f"00{frame % 60:02}{frame // 60:02}10") for frame in range(100)]
    notes = read_clip_xml(non_real_time(*changes)).notes(R25, 100)
    assert len(notes) == 6
    assert notes[-1] == "timecode breaks 94 times more"


def test_timecode_that_runs_over_midnight_does_not_break():
    xml = read_clip_xml(non_real_time((0, "00585923"), (50, "00000000")))
    assert xml.source(R25).label == "23:59:58:00"
    assert xml.notes(R25, 100) == ()


def test_a_first_entry_within_the_clip_is_counted_back():
    xml = read_clip_xml(non_real_time((25, "00000010")))
    assert xml.source(R25) == Source(CLIP_XML, "10:00:00:00", before=25)


def test_another_length_is_told():
    xml = read_clip_xml(non_real_time((0, "00000010"), duration=4380))
    assert xml.notes(R25, 4379) == ("the clip XML says 4,380 frames, and 4,379 were counted",)


def test_a_rate_that_does_not_fit_is_refused():
    with pytest.raises(ValueError, match="counts 24 frames a second, and the clip has 25"):
        read_clip_xml(non_real_time((0, "00000010"), fps=24)).source(R25)


def test_digits_that_are_none_are_refused():
    with pytest.raises(ValueError, match=r"has a timecode that is none \(ffffffff\)"):
        read_clip_xml(non_real_time((0, "ffffffff"))).source(R25)


@pytest.mark.parametrize(
    ("written", "flag", "rate", "label"),
    [
        ("25p", "", R25, "10:00:00:12"),
        ("50i", "", R25, "10:00:00:12"),
        ("59.94i", "", R2997, "10:00:00:12"),  # fields: 29.97 frames
        ("59.94i", ' DropFrameFlag="true"', R2997, "10:00:00;12"),
        ("29.97p", ' DropFrameFlag="false"', R2997, "10:00:00:12"),
        ("23.98p", "", Rate(24000, 1001), "10:00:00:12"),
        ("25p", "", R50, "10:00:00:24"),  # pairs
        ("50p", "", R50, "10:00:00:12"),
        ("", "", R50, "10:00:00:12"),
    ],
)
def test_the_start_of_a_contents_clip(written, flag, rate, label):
    xml = read_clip_xml(clip_content("10:00:00:12", written, flag=flag))
    assert xml.source(rate) == Source(CLIP_XML, label)
    assert xml.notes(rate, 99) == ("the clip XML says 100 frames, and 99 were counted",)


@pytest.mark.parametrize("label", ["", "ten o'clock", "10:00:00", "10:00:00:001"])
def test_a_start_that_is_no_label_is_none(label):
    assert read_clip_xml(clip_content(label, "25p")).source(R25) is None


def test_xml_of_another_kind_is_left_alone():
    assert read_clip_xml(b"<MediaProfile><Contents/></MediaProfile>") is None
    assert read_clip_xml(b"<NonRealTimeMeta/>") == ClipXml()


@pytest.mark.parametrize(
    ("data", "why"),
    [
        (b"", "is not XML"),
        (b"<ClipContent>", "is not XML"),
        (b'<?xml version="1.0" encoding="x-nobody"?><a/>', "is not XML"),
        (b'<!DOCTYPE a [<!ENTITY b "bbb">]><a>&b;</a>', "is not XML that can be read"),
        (b'<!DOCTYPE a SYSTEM "http://127.0.0.1/a.dtd"><a/>', "is not XML that can be read"),
        (b"<a>" + b" " * (4 << 20) + b"</a>", "is longer than 4,194,304 bytes"),
    ],
)
def test_what_is_no_xml_is_refused(data, why):
    with pytest.raises(ValueError, match=why):
        read_clip_xml(data)
