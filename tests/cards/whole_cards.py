"""Whole cards of every layout, as {path: bytes}, made small for the tests. No camera original was at hand.

The folders and names, and where each is from: AVCHD, what public readers of such discs agree on; CONTENTS and XDROOT,
MediaInfoLib's readers; M4ROOT and MEDIAPRO.XML, published samples; DCF, JEITA CP-3461 as its public summaries give it;
bext, EBU Tech 3285; RF64, EBU Tech 3306; iXML's names, public readers and writers of it.
"""

import struct

from tests.cards.conftest import playlist

BDMV = "PRIVATE/AVCHD/BDMV"
SECOND = 90_000  # ticks of a stream's clock
FRAME = SECOND // 25
RATE = 48_000  # samples a second
TEN_O_CLOCK = 10 * 3600 * RATE


def avchd(numbers=("00000", "00001"), joined=(), data=None, root=BDMV):
    """A card of streams; those in `joined` continue the one before them without a seam."""
    items = [(number, 6 if number in joined else 1) for number in numbers]
    files = {f"{root}/INDEX.BDM": b"INDX0100", f"{root}/MOVIEOBJ.BDM": b"MOBJ0100"}
    files[f"{root}/PLAYLIST/00000.MPL"] = playlist(items)
    for place, number in enumerate(numbers):
        files[f"{root}/STREAM/{number}.MTS"] = (data or {}).get(number) or stream(place * 1000 * SECOND)
        files[f"{root}/CLIPINF/{number}.CPI"] = b"HDMV0100" + number.encode()
    return files


def stream(first, frames=50, step=FRAME):
    """A transport stream in packets of 192 bytes whose pictures begin at `first` ticks: one packet for each."""
    return b"".join(_picture_packet((first + frame * step) % (1 << 33)) for frame in range(frames))


def _picture_packet(time):
    pes = b"\0\0\1\xe0\0\0\x80\x80\5" + _timestamp(time)
    return (bytes(4) + b"\x47\x50\x11\x10" + pes).ljust(192, b"\xff")


def _timestamp(time):
    """33 bits over five bytes with marker bits between them (ISO/IEC 13818-1)."""
    return bytes(
        [0x21 | time >> 29 & 0xE, time >> 22 & 0xFF, time >> 14 & 0xFE | 1, time >> 7 & 0xFF, time << 1 & 0xFE | 1]
    )


def contents(clips=None, root="CONTENTS"):
    """A card of MXF clips with CONTENTS: {name: clip_xml's arguments}."""
    files = {"LASTCLIP.TXT": b"0002AB\r\n"} if root == "CONTENTS" else {}
    for name, arguments in (clips or {"0001AA": {}, "0002AB": {}}).items():
        files |= {
            f"{root}/CLIP/{name}.XML": clip_xml(name, **arguments),
            f"{root}/VIDEO/{name}.MXF": mxf(),
            f"{root}/ICON/{name}.BMP": b"BM",
            f"{root}/PROXY/{name}.MP4": b"small copy",
            f"{root}/VOICE/{name}00.WAV": b"memo",
        }
        files |= {f"{root}/AUDIO/{name}{channel:02}.MXF": mxf() for channel in range(arguments.get("sounds", 2))}
    return files


def clip_xml(name, sounds=2, shot="", offset=0, duration=100, previous="", following=""):
    """A clip's XML; `previous` and `following` are names of the clips that its shot comes from and goes on in."""
    audio = "<Audio><AudioFormat>MXF</AudioFormat></Audio>" * sounds
    around = "".join(
        f"<{which}><ClipName>{other}</ClipName><GlobalClipID>{clip_id(other)}</GlobalClipID></{which}>"
        for which, other in (("Previous", previous), ("Next", following))
        if other
    )
    relation = (
        f"<Relation><OffsetInShot>{offset}</OffsetInShot><GlobalShotID>{shot}</GlobalShotID>"
        f"<Connection>{around}</Connection></Relation>"
        if shot
        else ""
    )
    return (
        f'<?xml version="1.0" encoding="UTF-8"?><Main xmlns="urn:example:clip"><ClipContent><ClipName>{name}</ClipName>'
        f"<GlobalClipID>{clip_id(name)}</GlobalClipID><Duration>{duration}</Duration><EditUnit>1/25</EditUnit>"
        f"<EssenceList><Video><FrameRate>50i</FrameRate></Video>{audio}</EssenceList>{relation}</ClipContent></Main>"
    ).encode()


def clip_id(name):
    return f"060A2B34-{name}"


def mxf(footer=200, size=260):
    """An MXF file's header partition pack that names its footer's place, and nothing that could be played."""
    pack = struct.pack(">HHIQQQ", 1, 3, 1, 0, 0, footer)
    return (bytes.fromhex("060e2b34020501010d01020101020400") + bytes([len(pack)]) + pack).ljust(size, b"\0")


def m4root(numbers=(1, 2), root="PRIVATE/M4ROOT", index=None):
    return _clip_folders([f"C{number:04}" for number in numbers], root, "CLIP", "MP4", "SUB", "THMBNL", index)


def xdroot(numbers=(1, 2), root="XDROOT", index=None):
    names = [f"C{number:04}" for number in numbers]
    return _clip_folders(names, root, "Clip", "MXF", "Sub", "Thmbnl", index) | {f"{root}/DISCMETA.XML": b"<DiscMeta/>"}


def _clip_folders(names, root, clips, ending, small, thumbnails, index):
    at = f"{root}/" if root else ""
    files = {f"{at}MEDIAPRO.XML": index or mediapro(names, clips, ending, small, thumbnails)}
    for name in names:
        files |= {
            f"{at}{clips}/{name}.{ending}": mxf() if ending == "MXF" else b"footage",
            f"{at}{clips}/{name}M01.XML": b'<NonRealTimeMeta><Duration value="100"/></NonRealTimeMeta>',
            f"{at}{small}/{name}S03.MP4": b"small copy",
            f"{at}{thumbnails}/{name}T01.JPG": b"JPG",
        }
    return files


def mediapro(names, clips="CLIP", ending="MP4", small="SUB", thumbnails="THMBNL"):
    materials = "".join(
        f'<Material uri="./{clips}/{name}.{ending}" type="{ending}" dur="100" fps="25p">'
        f'<Proxy uri="./{small}/{name}S03.MP4"/><RelevantInfo uri="./{clips}/{name}M01.XML" type="XML"/>'
        f'<RelevantInfo uri="./{thumbnails}/{name}T01.JPG" type="JPG"/></Material>'
        for name in names
    )
    return f'<MediaProfile xmlns="urn:example:index"><Contents>{materials}</Contents></MediaProfile>'.encode()


def dcf(folders=("100KESTR",), root="DCIM/"):
    files = {}
    for place, folder in enumerate(folders):
        for number in (10 * place + 1, 10 * place + 2):
            name = f"{root}{folder}/KES_{number:04}"
            files |= {f"{name}.MOV": b"footage", f"{name}.THM": b"thumbnail"}
        files[f"{root}{folder}/KES_{10 * place + 3:04}.JPG"] = b"still"
    return files


def wav(samples=4800, start=TEN_O_CLOCK, tracks=1, family="", index="", total=0, form=b"RIFF", cut=0):
    """A WAV file of silence; without bext if `start` is None, without iXML if it has no `family`. `cut` bytes of its
    end are missing."""
    sound = bytes(samples * tracks * 2)
    body = b""
    if form != b"RIFF":
        body += _chunk(b"ds64", struct.pack("<QQQI", 0, len(sound), samples, 0))
    body += _chunk(b"fmt ", struct.pack("<HHIIHH", 1, tracks, RATE, RATE * 2 * tracks, 2 * tracks, 16))
    if start is not None:
        body += _chunk(b"bext", bytes(338) + struct.pack("<Q", start) + bytes(256))
    if family:
        body += _chunk(
            b"iXML",
            f"<BWFXML><FILE_SET><TOTAL_FILES>{total}</TOTAL_FILES><FAMILY_UID>{family}</FAMILY_UID>"
            f"<FILE_SET_INDEX>{index}</FILE_SET_INDEX></FILE_SET></BWFXML>".encode(),
        )
    body += _chunk(b"data", sound, None if form == b"RIFF" else 0xFFFFFFFF)
    size = len(body) + 4 if form == b"RIFF" else 0xFFFFFFFF
    data = form + struct.pack("<I", size) + b"WAVE" + body
    return data[: len(data) - cut]


def _chunk(name, body, size=None):
    return name + struct.pack("<I", len(body) if size is None else size) + body + bytes(len(body) % 2)


def recorder():
    """A card with a polyphonic take and one that is split over two mono files."""
    return {
        "261112/T001.WAV": wav(tracks=2),
        "261112/T002_1.WAV": wav(start=TEN_O_CLOCK + 60 * RATE),
        "261112/T002_2.WAV": wav(start=TEN_O_CLOCK + 60 * RATE),
        "261112/REPORT.CSV": b"take,scene",
    }


def plain():
    return {
        "A001/A001C001.MOV": b"footage",
        "A001/A001C001.XML": b"<x/>",
        "A001/A001C002.MOV": b"footage 2",
        "A001/A001C002.XML": b"<x/>",
        "A001/A001C003.MOV": b"footage 33",
        "A001/A001C003.XML": b"<x/>",
    }
