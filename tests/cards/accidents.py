"""Every accident of copying that is known to be told, layout by layout: what is done to a whole card, and what is said.

    python -m tests.cards.accidents

prints them as a table in Markdown.
"""

import re
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

from review.cards.findings import CAUTION, STOP
from review.cards.layouts import LayoutReading, read_layout
from review.cards.tree import read_tree
from tests.cards import whole_cards as whole
from tests.cards.whole_cards import BDMV, FRAME, SECOND, TEN_O_CLOCK, stream, wav

Files = dict[str, bytes]


class Accident(NamedTuple):
    layout: str
    what: str  # happened, for the table
    card: Callable[[], Files]
    harm: Callable[[Files], Files]
    code: str
    severity: str
    words: tuple[str, ...]  # that must be in what is said
    clips: int  # that are found all the same


def without(*patterns: str) -> Callable[[Files], Files]:
    """The card without the files whose paths match any of the patterns."""
    return lambda files: {path: data for path, data in files.items() if not any(re.search(p, path) for p in patterns)}


def only(pattern: str) -> Callable[[Files], Files]:
    return lambda files: {path: data for path, data in files.items() if re.search(pattern, path)}


def flat(pattern: str) -> Callable[[Files], Files]:
    """The files that match, without their folders."""
    return lambda files: {path.rpartition("/")[2]: data for path, data in files.items() if re.search(pattern, path)}


def moved(start: str, to: str) -> Callable[[Files], Files]:
    """What lies below `start`, put below `to`; nothing else."""
    return lambda files: {to + path[len(start) :]: data for path, data in files.items() if path.startswith(start)}


def adding(more: Files) -> Callable[[Files], Files]:
    return lambda files: files | more


def cut(path: str, by: int = 1) -> Callable[[Files], Files]:
    return lambda files: files | {path: files[path][:-by]}


def as_it_is(files: Files) -> Files:
    return files


def _long_avchd() -> Files:
    """A recording of two streams whose clock runs on, then another recording."""
    data = {"00000": stream(SECOND), "00001": stream(SECOND + 50 * FRAME), "00002": stream(900 * SECOND)}
    return whole.avchd(("00000", "00001", "00002"), joined=("00001",), data=data)


def _shot(**parts: dict) -> Files:
    return whole.contents({name: {"shot": "S1", **about} for name, about in parts.items()})


def _family(*files: tuple[str, dict]) -> Files:
    return {f"T001-{name}.WAV": wav(family="F1", **about) for name, about in files}


ACCIDENTS = [
    Accident(
        "AVCHD",
        "only the stream files came",
        whole.avchd,
        flat(r"\.MTS$"),
        "partial-copy",
        STOP,
        ("Only the stream files of an AVCHD card came (2 in the card folder)",),
        2,
    ),
    Accident(
        "AVCHD",
        "one level too deep",
        whole.avchd,
        moved("", "UNTITLED/"),
        "too-deep",
        CAUTION,
        ("one level too deep", "lies in UNTITLED"),
        2,
    ),
    Accident(
        "AVCHD",
        "the card's folder inside itself",
        whole.avchd,
        moved("", "KB04-261112-A03/"),
        "too-deep",
        CAUTION,
        ("lies in KB04-261112-A03",),
        2,
    ),
    Accident(
        "AVCHD",
        "too shallow: what BDMV holds",
        whole.avchd,
        moved(f"{BDMV}/", ""),
        "too-shallow",
        CAUTION,
        ("copied too shallow", "inside of a BDMV folder", "PRIVATE/AVCHD/BDMV"),
        2,
    ),
    Accident(
        "AVCHD",
        "the last stream half copied",
        whole.avchd,
        cut(f"{BDMV}/STREAM/00001.MTS"),
        "truncated-stream",
        STOP,
        ("00001.MTS is cut short", "9,599 bytes are not a whole number of 192-byte packets"),
        2,
    ),
    Accident(
        "AVCHD",
        "a stream that the index names is not there",
        whole.avchd,
        without("STREAM/00001"),
        "missing-stream",
        STOP,
        ("STREAM/00001.MTS is missing", "CLIPINF/00001.CPI and", "PLAYLIST/00000.MPL"),
        1,
    ),
    Accident(
        "AVCHD",
        "a stream without its clip information",
        whole.avchd,
        without("CLIPINF/00001"),
        "missing-clip-info",
        STOP,
        ("STREAM/00001.MTS came without its clip information (CLIPINF/00001.CPI)",),
        2,
    ),
    Accident(
        "AVCHD",
        "the index file lost",
        whole.avchd,
        without("INDEX.BDM"),
        "missing-index",
        STOP,
        ("The card's index (INDEX.BDM) is missing",),
        2,
    ),
    Accident(
        "AVCHD",
        "the playlists lost",
        _long_avchd,
        without("PLAYLIST"),
        "missing-index",
        STOP,
        ("playlists (PLAYLIST/*.MPL) are missing",),
        2,
    ),
    Accident(
        "AVCHD",
        "the playlists lost, and a recording over two streams",
        _long_avchd,
        without("PLAYLIST"),
        "joined-by-time",
        CAUTION,
        ("00000.MTS and", "their time runs on without a gap", "playlist"),
        2,
    ),
    Accident(
        "AVCHD",
        "only the stream files came, and a recording over two of them",
        _long_avchd,
        flat(r"\.MTS$"),
        "joined-by-time",
        CAUTION,
        ("00000.MTS and 00001.MTS are joined into one clip",),
        2,
    ),
    Accident(
        "AVCHD",
        "the playlist damaged",
        whole.avchd,
        cut(f"{BDMV}/PLAYLIST/00000.MPL", 20),
        "bad-playlist",
        STOP,
        ("The playlist", "cannot be read: it ends too early"),
        2,
    ),
    Accident(
        "AVCHD",
        "a playlist that joins streams whose clocks do not",
        lambda: whole.avchd(joined=("00001",)),
        as_it_is,
        "time-disagrees",
        CAUTION,
        ("continues", "its clock does not run on", "kept as one clip"),
        1,
    ),
    Accident(
        "AVCHD",
        "two structures in use",
        whole.avchd,
        adding(whole.avchd(("00007",), root="AVCHD/BDMV")),
        "merged-cards",
        CAUTION,
        ("footage in 2 structures of one kind (AVCHD)", "AVCHD/BDMV and PRIVATE/AVCHD/BDMV"),
        3,
    ),
    Accident(
        "AVCHD",
        "two cards in one folder, streams numbered twice",
        whole.avchd,
        adding({f"{BDMV}/STREAM/00001 (1).MTS": stream(0, 70)}),
        "merged-cards",
        STOP,
        ("00001 (1).MTS", "two cards may have been copied over each other"),
        3,
    ),
    Accident(
        "AVCHD",
        "two cards side by side in one folder",
        whole.avchd,
        lambda files: moved("", "A/")(files) | moved("", "B/")(files),
        "several-cards",
        STOP,
        ("There are 2 cards in this one folder: A, B",),
        4,
    ),
    Accident(
        "MXF with CONTENTS",
        "only picture and sound came",
        whole.contents,
        only("VIDEO|AUDIO"),
        "partial-copy",
        STOP,
        ("Only the picture and sound files of an MXF card with CONTENTS came (6 in CONTENTS)", "CLIP/*.XML"),
        2,
    ),
    Accident(
        "MXF with CONTENTS",
        "only picture and sound came, all in one folder",
        whole.contents,
        flat("VIDEO|AUDIO"),
        "partial-copy",
        STOP,
        ("Only the picture and sound files of an MXF card with CONTENTS came (6 in the card folder)",),
        2,
    ),
    Accident(
        "MXF with CONTENTS",
        "one level too deep",
        whole.contents,
        moved("", "NO NAME/"),
        "too-deep",
        CAUTION,
        ("lies in NO NAME",),
        2,
    ),
    Accident(
        "MXF with CONTENTS",
        "too shallow: what CONTENTS holds",
        whole.contents,
        moved("CONTENTS/", ""),
        "too-shallow",
        CAUTION,
        ("inside of a CONTENTS folder", "folders above it (CONTENTS)"),
        2,
    ),
    Accident(
        "MXF with CONTENTS",
        "the picture half copied",
        whole.contents,
        cut("CONTENTS/VIDEO/0002AB.MXF", 100),
        "cut-short",
        STOP,
        ("VIDEO/0002AB.MXF is cut short", "201 bytes or more", "has 160"),
        2,
    ),
    Accident(
        "MXF with CONTENTS",
        "a picture missing",
        whole.contents,
        without("VIDEO/0002AB"),
        "missing-footage",
        STOP,
        ("CONTENTS/VIDEO/0002AB.MXF is missing", "named by CONTENTS/CLIP/0002AB.XML"),
        2,
    ),
    Accident(
        "MXF with CONTENTS",
        "a sound file missing",
        whole.contents,
        without("AUDIO/0002AB01"),
        "missing-footage",
        STOP,
        ("CONTENTS/AUDIO/0002AB01.MXF is missing",),
        2,
    ),
    Accident(
        "MXF with CONTENTS",
        "picture and sound without their XML",
        whole.contents,
        without("CLIP/0002AB"),
        "missing-clip-info",
        STOP,
        ("VIDEO/0002AB.MXF came without its clip information (CLIP/0002AB.XML)",),
        2,
    ),
    Accident(
        "MXF with CONTENTS",
        "a clip's XML damaged",
        whole.contents,
        cut("CONTENTS/CLIP/0002AB.XML", 40),
        "bad-clip-info",
        STOP,
        ("CONTENTS/CLIP/0002AB.XML cannot be read", "not XML"),
        2,
    ),
    Accident(
        "MXF with CONTENTS",
        "a shot that goes on on another card",
        lambda: _shot(
            A00001={"following": "A00002"}, A00002={"offset": 100, "previous": "A00001", "following": "B00009"}
        ),
        as_it_is,
        "goes-on-elsewhere",
        CAUTION,
        ("clip A00002 goes on in clip B00009 (id 060A2B34-B00009)", "not on this card"),
        1,
    ),
    Accident(
        "MXF with CONTENTS",
        "a shot that began on another card",
        lambda: _shot(A00001={"offset": 700, "previous": "B00009"}),
        as_it_is,
        "goes-on-elsewhere",
        CAUTION,
        ("clip A00001 goes on from clip B00009",),
        1,
    ),
    Accident(
        "MXF with CONTENTS",
        "a sound file renamed",
        whole.contents,
        adding({"CONTENTS/AUDIO/0002AB01 2.MXF": whole.mxf()}),
        "odd-name",
        STOP,
        ("0002AB01 2.MXF has no name that a sound file of such a card has",),
        3,
    ),
    Accident(
        "MXF with XDROOT",
        "only the footage came",
        whole.xdroot,
        only(r"Clip/.*\.MXF"),
        "partial-copy",
        STOP,
        ("Only the footage files of an MXF card with XDROOT came (2 in XDROOT)",),
        2,
    ),
    Accident(
        "MXF with XDROOT",
        "too shallow: the clips' folder alone",
        whole.xdroot,
        moved("XDROOT/Clip/", "Clip/"),
        "too-shallow",
        STOP,
        ("folders above it (XDROOT) did not come", "index (MEDIAPRO.XML) lay there"),
        2,
    ),
    Accident(
        "MXF with XDROOT",
        "one level too deep",
        whole.xdroot,
        moved("", "DISC/"),
        "too-deep",
        CAUTION,
        ("lies in DISC",),
        2,
    ),
    Accident(
        "MXF with XDROOT",
        "the footage half copied",
        whole.xdroot,
        cut("XDROOT/Clip/C0002.MXF", 100),
        "cut-short",
        STOP,
        ("Clip/C0002.MXF is cut short",),
        2,
    ),
    Accident(
        "MXF with XDROOT",
        "footage without its XML",
        whole.xdroot,
        without("C0002M01"),
        "missing-clip-info",
        STOP,
        ("XDROOT/Clip/C0002.MXF came without its clip information (C0002M01.XML)",),
        2,
    ),
    Accident(
        "MXF with XDROOT",
        "an XML without its footage",
        whole.xdroot,
        without(r"C0002\.MXF"),
        "missing-footage",
        STOP,
        ("XDROOT/Clip/C0002.MXF is missing", "C0002M01.XML"),
        1,
    ),
    Accident(
        "MP4 with M4ROOT",
        "only the footage came",
        whole.m4root,
        only(r"CLIP/.*\.MP4"),
        "partial-copy",
        STOP,
        ("Only the footage files of an MP4 card with M4ROOT came (2 in PRIVATE/M4ROOT)",),
        2,
    ),
    Accident(
        "MP4 with M4ROOT",
        "one level too deep",
        whole.m4root,
        moved("", "KB04-261112-A03/UNTITLED/"),
        "too-deep",
        CAUTION,
        ("2 levels too deep", "lies in KB04-261112-A03/UNTITLED"),
        2,
    ),
    Accident(
        "MP4 with M4ROOT",
        "too shallow: what M4ROOT holds",
        whole.m4root,
        moved("PRIVATE/M4ROOT/", ""),
        "too-shallow",
        CAUTION,
        ("inside of an M4ROOT folder", "folders above it (M4ROOT) did not come"),
        2,
    ),
    Accident(
        "MP4 with M4ROOT",
        "too shallow: footage and XML files alone",
        whole.m4root,
        flat("CLIP/"),
        "too-shallow",
        STOP,
        ("the inside of the CLIP folder", "(M4ROOT/CLIP) did not come", "MEDIAPRO.XML"),
        2,
    ),
    Accident(
        "MP4 with M4ROOT",
        "a clip that the index names is not there",
        whole.m4root,
        without("C0002[.M]"),
        "missing-footage",
        STOP,
        ("M4ROOT/CLIP/C0002.MP4 is missing", "named by PRIVATE/M4ROOT/MEDIAPRO.XML"),
        1,
    ),
    Accident(
        "MP4 with M4ROOT",
        "footage without its XML",
        whole.m4root,
        without("C0002M01"),
        "missing-clip-info",
        STOP,
        ("CLIP/C0002.MP4 came without its clip information (C0002M01.XML)",),
        2,
    ),
    Accident(
        "MP4 with M4ROOT",
        "an XML without its footage",
        whole.m4root,
        without(r"C0002\.MP4", "MEDIAPRO"),
        "missing-footage",
        STOP,
        ("CLIP/C0002.MP4 is missing; it is named by PRIVATE/M4ROOT/CLIP/C0002M01.XML",),
        1,
    ),
    Accident(
        "MP4 with M4ROOT",
        "the index lost",
        whole.m4root,
        without("MEDIAPRO"),
        "missing-index",
        STOP,
        ("The card's index (MEDIAPRO.XML) is missing from PRIVATE/M4ROOT",),
        2,
    ),
    Accident(
        "MP4 with M4ROOT",
        "the index damaged",
        whole.m4root,
        cut("PRIVATE/M4ROOT/MEDIAPRO.XML", 30),
        "bad-index",
        STOP,
        ("The index PRIVATE/M4ROOT/MEDIAPRO.XML cannot be read",),
        2,
    ),
    Accident(
        "MP4 with M4ROOT",
        "a small copy missing",
        whole.m4root,
        without("C0002S03"),
        "missing-companion",
        CAUTION,
        ("M4ROOT/SUB/C0002S03.MP4 is missing", "no footage"),
        2,
    ),
    Accident(
        "MP4 with M4ROOT",
        "two cards in one folder, clips numbered twice",
        whole.m4root,
        adding({"PRIVATE/M4ROOT/CLIP/C0001_1.MP4": b"other footage"}),
        "merged-cards",
        STOP,
        ("C0001.MP4 and PRIVATE/M4ROOT/CLIP/C0001_1.MP4", "differ in length"),
        3,
    ),
    Accident(
        "MP4 with M4ROOT",
        "two structures in use",
        whole.m4root,
        adding(whole.m4root((7,), root="M4ROOT")),
        "merged-cards",
        CAUTION,
        ("M4ROOT and PRIVATE/M4ROOT", "without being formatted"),
        3,
    ),
    Accident(
        "MP4 with M4ROOT",
        "a clip from another card",
        whole.m4root,
        adding({"PRIVATE/M4ROOT/CLIP/C0950.MP4": b"x", "PRIVATE/M4ROOT/CLIP/C0950M01.XML": b"<x/>"}),
        "not-in-index",
        CAUTION,
        ("C0950.MP4 is not named by the card's index",),
        3,
    ),
    Accident(
        "DCF",
        "too shallow: what DCIM holds",
        whole.dcf,
        moved("DCIM/", ""),
        "too-shallow",
        CAUTION,
        ("inside of a still camera's DCIM folder",),
        2,
    ),
    Accident(
        "DCF",
        "one level too deep",
        whole.dcf,
        moved("", "UNTITLED/"),
        "too-deep",
        CAUTION,
        ("lies in UNTITLED",),
        2,
    ),
    Accident(
        "DCF",
        "two cards in one folder",
        lambda: whole.dcf(("100KESTR", "100HARBR")),
        as_it_is,
        "folder-number-twice",
        CAUTION,
        ("have the same number (100)",),
        4,
    ),
    Accident(
        "DCF",
        "a video without its thumbnail",
        lambda: whole.dcf(("100KESTR",)) | {"DCIM/100KESTR/KES_0009.MOV": b"9"},
        as_it_is,
        "missing-companion",
        CAUTION,
        ("KES_0009.MOV came without the THM file",),
        3,
    ),
    Accident(
        "DCF",
        "a thumbnail without its video",
        lambda: whole.dcf() | {"DCIM/100KESTR/KES_0009.THM": b"9"},
        as_it_is,
        "missing-footage",
        STOP,
        ("KES_0009.THM came without the footage",),
        2,
    ),
    Accident(
        "DCF",
        "a folder inside a numbered one",
        whole.dcf,
        adding({"DCIM/100KESTR/best/KES_0001.MOV": b"1"}),
        "odd-folder",
        CAUTION,
        ("DCIM/100KESTR/best is a folder inside a numbered folder",),
        3,
    ),
    Accident(
        "Sound files",
        "the last take half copied",
        whole.recorder,
        cut("261112/T002_2.WAV", 100),
        "cut-short",
        STOP,
        ("T002_2.WAV is cut short", "It was perhaps the last file when the copying stopped"),
        2,
    ),
    Accident(
        "Sound files",
        "a track of a split take missing",
        lambda: _family(("L", {"index": "1", "total": 2}), ("R", {"index": "2", "total": 2})),
        without("-R"),
        "missing-tracks",
        STOP,
        ("T001-L.WAV belongs to a take of 2 files side by side",),
        1,
    ),
    Accident(
        "Sound files",
        "a part in the middle of a take missing",
        lambda: _family(*[(f"{part}", {"start": TEN_O_CLOCK + part * 4800}) for part in range(3)]),
        without("-1"),
        "gap-in-take",
        CAUTION,
        ("T001-2.WAV belongs to the same take as T001-0.WAV", "may be missing"),
        2,
    ),
    Accident(
        "Sound files",
        "one level too deep",
        whole.recorder,
        moved("", "KB04-261112-A03/"),
        "too-deep",
        CAUTION,
        ("lies in KB04-261112-A03",),
        2,
    ),
    Accident(
        "Video files",
        "one level too deep",
        whole.plain,
        moved("", "KB04-261112-A03/"),
        "too-deep",
        CAUTION,
        ("lies in KB04-261112-A03",),
        3,
    ),
    Accident(
        "Video files",
        "several cards in one folder",
        whole.plain,
        lambda files: moved("", "KB04-261112-A03/")(files) | moved("", "KB04-261112-A04/")(files),
        "several-cards",
        STOP,
        ("2 cards in this one folder: KB04-261112-A03, KB04-261112-A04",),
        6,
    ),
    Accident(
        "Video files",
        "footage without its XML file",
        whole.plain,
        without(r"A001C003\.XML"),
        "missing-companion",
        CAUTION,
        ("A001C003.MOV came without the XML file that the footage beside it has",),
        3,
    ),
    Accident(
        "Video files",
        "an XML file without its footage",
        whole.plain,
        without(r"A001C003\.MOV"),
        "missing-footage",
        STOP,
        ("A001C003.XML came without the footage that it belongs to",),
        2,
    ),
    Accident(
        "Video files",
        "two cards copied over each other",
        whole.plain,
        adding({"A001/A001C001 (1).MOV": b"other footage"}),
        "merged-cards",
        STOP,
        ("A001C001.MOV and A001/A001C001 (1).MOV", "two cards may have been copied over each other"),
        4,
    ),
    Accident(
        "Video files",
        "a file copied twice",
        whole.plain,
        adding({"A001/Copy of A001C001.MOV": b"footage"}),
        "copied-twice",
        CAUTION,
        ("named as second copies are", "the same length"),
        4,
    ),
    Accident("Any", "nothing came", dict, as_it_is, "empty-card", STOP, ("holds no file at all",), 0),
    Accident(
        "Any",
        "only the small files came",
        whole.plain,
        only("XML"),
        "no-footage",
        STOP,
        ("No footage was found among the card's 3 files",),
        0,
    ),
]


def reading_of(accident: Accident, folder: Path) -> LayoutReading:
    """Make the harmed card in `folder` and read it."""
    folder.mkdir(parents=True)
    for path, data in accident.harm(accident.card()).items():
        (folder / path).parent.mkdir(parents=True, exist_ok=True)
        (folder / path).write_bytes(data)
    return read_layout(read_tree(folder))


def table() -> str:
    rows = ["| layout | what happened | what Rushlight says |", "|---|---|---|"]
    for accident in ACCIDENTS:
        with tempfile.TemporaryDirectory() as scratch:
            findings = reading_of(accident, Path(scratch) / "KB04-261112-A03").findings
        said = next(finding for finding in findings if finding.code == accident.code)
        rows.append(f"| {accident.layout} | {accident.what} | **{said.severity}** `{said.code}`: {said.what} |")
    return "\n".join(rows)


if __name__ == "__main__":
    print(table())
