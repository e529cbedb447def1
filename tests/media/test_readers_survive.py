"""Any bytes in, a result or a ValueError out: the readers of what a card's files say of themselves."""

import io
import time

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from review.card_xml import parse_card_xml
from review.media.camera_data import read_camera_data
from review.media.clip_xml import read_clip_xml
from review.media.ixml import names_in_description, read_ixml
from review.media.mov_atoms import MovAtoms
from review.media.mxf_packages import package_timecodes
from review.media.timecode_sources import ORDER, Source, believed, ranked
from review.media.timecode_word import label_of_word
from review.media.wav_chunks import read_chunks
from review.timecode import STANDARD_RATES, Rate, Timebase, TimecodeError

from .clips import H264, ffmpeg, make_clip
from .test_clip_xml import clip_content, non_real_time
from .test_file_sources import SHORT, speed, take
from .test_ixml import ixml, track

rates = st.sampled_from(STANDARD_RATES)
timebases = st.one_of(
    rates.map(Timebase),
    st.sampled_from([rate for rate in STANDARD_RATES if rate.can_drop]).map(lambda r: Timebase(r, True)),
)
GOOD_XML = [
    non_real_time((0, "17305719"), (4379, "21250020"), duration=4380),
    clip_content("10:00:00:12", "59.94i", flag=' DropFrameFlag="true"'),
    ixml(speed(samples=5), f"<TRACK_LIST>{track(1, 'Boom')}</TRACK_LIST>"),
]


@st.composite
def damaged(draw, good) -> bytes:
    """Sound bytes with some of them cut out, doubled or changed."""
    data = bytearray(draw(st.sampled_from(good)))
    for _ in range(draw(st.integers(0, 6))):
        at = draw(st.integers(0, max(len(data) - 1, 0)))
        length = draw(st.integers(0, 12))
        data[at : at + length] = draw(st.one_of(st.binary(max_size=12), st.just(bytes(data[at : at + length]) * 2)))
    return bytes(data)


@given(
    st.one_of(st.binary(max_size=300), st.text(max_size=300).map(str.encode), damaged(GOOD_XML)),
    rates,
    st.integers(0, 9999),
)
def test_xml_of_any_kind(data, rate, frames):
    for read in (read_clip_xml, read_ixml):
        try:
            found = read(data)
        except ValueError as problem:
            assert str(problem)
            continue
        if read is read_ixml:
            assert all(isinstance(name, str) for name in found.names)
        elif found:
            found.notes(rate, frames)
            try:
                source = found.source(rate)
            except ValueError:
                continue
            if source:
                believed([source], Timebase(rate))


@pytest.mark.parametrize(
    "data",
    [
        b"<a>" * 200_000 + b"</a>" * 200_000,
        b"<a " + b" ".join(b'b%d=""' % number for number in range(100_000)) + b"/>",
        b"<NonRealTimeMeta><LtcChangeTable tcFps='25'>"
        + b"".join(b"<LtcChange frameCount='%d' value='00000010'/>" % number for number in range(60_000))
        + b"</LtcChangeTable></NonRealTimeMeta>",
        b"<BWFXML><TRACK_LIST>" + b"<TRACK><NAME>a</NAME></TRACK>" * 80_000 + b"</TRACK_LIST></BWFXML>",
    ],
    ids=["deep", "wide", "many changes", "many tracks"],
)
def test_xml_that_is_meant_to_cost_time(data):
    begun = time.monotonic()
    for read in (read_clip_xml, read_ixml):
        try:
            found = read(data)
        except ValueError:
            continue
        if read is read_clip_xml and found:
            found.notes(Rate(25), 0)
    assert time.monotonic() - begun < 10


@pytest.mark.parametrize(
    "data",
    [
        b'<!DOCTYPE a [<!ENTITY b "bbbb"><!ENTITY c "&b;&b;&b;&b;">]><a>&c;</a>',
        b'<!DOCTYPE a [<!ENTITY b SYSTEM "file:///etc/passwd">]><a>&b;</a>',
        b'<!DOCTYPE a SYSTEM "file:///etc/passwd"><a/>',
    ],
)
def test_xml_that_grows_or_names_other_files_is_refused(data):
    with pytest.raises(ValueError, match="is not XML that can be read"):
        parse_card_xml(data)


@given(st.text(max_size=300))
@example("TRK1=a\r\nTRK1=b")
def test_a_description_of_any_kind(text):
    assert len(names_in_description(text)) <= 512


@given(st.binary(max_size=300), rates)
def test_camera_data_of_any_kind(records, rate):
    found = read_camera_data(records, rate)
    assert found.drop == bool(found.label and ";" in found.label)


@given(st.binary(min_size=4, max_size=4), rates, st.booleans())
def test_any_four_bytes_are_a_label_or_refused(word, rate, pairs):
    try:
        label = label_of_word(word, rate, pairs)
    except ValueError:
        return
    assert len(label) == 11


wav_like = st.lists(
    st.tuples(
        st.sampled_from([b"ds64", b"data", b"iXML", b"fmt "]), st.integers(0, 0xFFFFFFFF), st.binary(max_size=40)
    ),
    max_size=6,
).map(lambda chunks: b"".join(name + size.to_bytes(4, "little") + data for name, size, data in chunks))


@given(st.one_of(st.binary(max_size=300), wav_like), st.sampled_from([b"RIFF", b"RF64", b"BW64"]))
@example(b"ds64" + bytes(4) + b"\xff" * 28 + b"data" + b"\xff" * 4, b"RF64")
def test_chunks_of_any_kind(data, form):
    found = read_chunks(io.BytesIO(form + bytes(4) + b"WAVE" + data), (b"iXML",), 100)
    assert all(len(content) <= 100 for content in found.values())


labels = st.one_of(st.from_regex(r"\d\d:\d\d:\d\d[:;]\d\d", fullmatch=True), st.text(max_size=20))
sources = st.one_of(
    st.builds(Source, st.sampled_from(ORDER), labels, st.integers(0, 5)),
    st.builds(Source, st.sampled_from(ORDER), samples=st.integers(0, 1 << 64), sample_rate=st.integers(0, 1_000_000)),
)


@given(st.lists(sources, max_size=12), timebases)
def test_whatever_the_sources_say_there_is_a_start_or_none(found, timebase):
    start = believed(ranked(found, timebase.rate), timebase)
    assert 0 <= start.frame < timebase.frames_per_day
    assert len(start.notes) <= 9
    if not start.source:
        as_it_counts = [Timebase(timebase.rate, drop) for drop in {False, timebase.rate.can_drop}]
        for source in found:
            with pytest.raises(TimecodeError):
                source.frame(as_it_counts[source.drop and timebase.rate.can_drop])


# Readers that seek in a file


@pytest.fixture(scope="module")
def files(tmp_path_factory):
    folder = tmp_path_factory.mktemp("whole")
    mov = make_clip(folder / "a.mov", Rate(25), *H264, "-timecode", "10:00:00:00", **SHORT)
    ffmpeg("-i", mov, "-c:v", "mpeg2video", "-timecode", "10:00:00:00", folder / "a.mxf")
    return {
        "mov": mov.read_bytes(),
        "mxf": (folder / "a.mxf").read_bytes()[:20_000],
        "wav": take(folder / "a.wav", xml=ixml(speed(samples=5))).read_bytes(),
        "path": folder / "any",
    }


@settings(max_examples=60, deadline=None)
@given(data=st.data())
@pytest.mark.parametrize("kind", ["mov", "mxf", "wav", "noise"])
def test_files_of_any_kind(kind, files, data):
    content = data.draw(st.binary(max_size=300) if kind == "noise" else damaged([files[kind]]))
    files["path"].write_bytes(content)
    with files["path"].open("rb") as file:
        assert all(0 <= base < 256 for base in MovAtoms(file).timecode_bases())
        xml = MovAtoms(file).clip_xml()
        assert xml is None or xml.endswith(b">")
        file.seek(0)
        assert all(1 <= package.base <= 60 for package in package_timecodes(file))
        file.seek(0)
        read_chunks(file, (b"iXML",), 1000)
