"""Cards to check."""

import struct

import pytest


@pytest.fixture
def make_card(tmp_path):
    """make_card({path: bytes}, name=...) -> the card's folder, with those files (folders end in '/')."""

    def make(files, name="KB04-261112-A03"):
        folder = tmp_path / "rushes" / name
        folder.mkdir(parents=True, exist_ok=True)
        for path, data in files.items():
            target = folder / path
            if path.endswith("/"):
                target.mkdir(parents=True, exist_ok=True)
            else:
                target.parent.mkdir(parents=True, exist_ok=True)
                target.write_bytes(data)
        return folder

    return make


@pytest.fixture
def avchd():
    """avchd({'00001': bytes, ...}, playlists={...}) -> the files of a whole AVCHD card in 8.3 names."""

    def make(streams, playlist_items=None, root="PRIVATE/AVCHD/BDMV"):
        items = playlist_items or [(number, 1) for number in streams]
        files = {f"{root}/INDEX.BDM": b"INDX0100", f"{root}/MOVIEOBJ.BDM": b"MOBJ0100"}
        files[f"{root}/PLAYLIST/00000.MPL"] = playlist(items)
        for number, data in streams.items():
            files[f"{root}/STREAM/{number}.MTS"] = data
            files[f"{root}/CLIPINF/{number}.CPI"] = b"HDMV0100" + number.encode()
        return files

    return make


def playlist(items) -> bytes:
    """An MPLS file of (clip number, connection) items, as the public descriptions of the format give it."""
    entries = b""
    for number, connection in items:
        body = number.encode() + b"M2TS" + struct.pack(">H", connection) + bytes(9)
        entries += struct.pack(">H", len(body)) + body
    head = b"MPLS0100" + struct.pack(">III", 58, 0, 0)
    return head.ljust(58, b"\0") + struct.pack(">IHHH", len(entries) + 6, 0, len(items), 0) + entries


@pytest.fixture(name="playlist")
def _playlist():
    return playlist


@pytest.fixture
def codes():
    """codes(findings) -> the sorted (severity, code, where) of findings."""
    return lambda findings: sorted((each.severity, each.code, each.where) for each in findings)
