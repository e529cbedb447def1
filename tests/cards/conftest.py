"""Cards to check, and the outside tools to check our reading against."""

import os
import struct
import subprocess
from pathlib import Path

import pytest

ORACLES = Path(__file__).parents[2] / ".venv-oracles" / "bin"


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


class Ascmhl:
    """The reference tool of the ASC MHL format, run offline."""

    def __call__(self, *arguments):
        return self._run("ascmhl", *arguments)

    def debug(self, *arguments):
        return self._run("ascmhl-debug", *arguments)

    def _run(self, program, *arguments):
        nowhere = "http://127.0.0.1:9"  # the tool asks for updates of itself; it must not reach anyone from a test
        environment = os.environ | {"HTTPS_PROXY": nowhere, "https_proxy": nowhere}
        return subprocess.run(
            [ORACLES / program, *map(str, arguments)], capture_output=True, text=True, env=environment, timeout=60
        )


@pytest.fixture(scope="session")
def ascmhl_tool():
    if not (ORACLES / "ascmhl").exists() or not (ORACLES / "ascmhl-debug").exists():
        pytest.fail(
            "the ascmhl reference tool is missing; make its environment with: "
            "python3 -m venv .venv-oracles && .venv-oracles/bin/pip install ascmhl==1.2"
        )
    return Ascmhl()
