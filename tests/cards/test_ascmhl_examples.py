"""The five scenarios of the published ASC MHL examples (ascmitc/mhl: examples/scenarios), written anew by the format's
reference tool (ascmhl 1.2): each is checked as it is, and altered."""

import shutil

import pytest

from review.cards.checking import check_card

CARD = {
    "Clips/A002C006_141024_R2EC.mov": b"abcde",
    "Clips/A002C007_141024_R2EC.mov": b"fghi",
    "Sidecar.txt": b"the sidecar of a card",
}


def said(folder):
    report = check_card(folder, production=None, probe=lambda path: "a clip")
    codes = [(each.severity, each.code, each.where) for each in report.findings if each.code != "name-misfit"]
    return report.proof, len(report.manifests), codes


WHOLE = "checksums"


@pytest.fixture
def travel(make_card, ascmhl_tool):
    """Scenario 1: the card on the travelling disk, with one generation."""
    folder = make_card(CARD, name="travel_01/A002R2EC")
    assert ascmhl_tool("create", "-h", "xxh64", folder).returncode == 0
    return folder


@pytest.fixture
def server(travel):
    """The card copied to the server, history and all."""
    return shutil.copytree(travel, travel.parents[1] / "file_server" / travel.name)


def flip(path):
    data = bytearray(path.read_bytes())
    data[0] ^= 1
    path.write_bytes(data)


def test_scenario_1_one_generation(travel):
    assert said(travel) == (WHOLE, 1, [])
    flip(travel / "Sidecar.txt")
    assert said(travel) == ("partial", 1, [("stop", "altered", "Sidecar.txt")])


def test_scenario_2_a_second_generation_on_the_server(server, ascmhl_tool):
    assert ascmhl_tool("create", "-h", "xxh64", server).returncode == 0
    assert said(server) == (WHOLE, 2, [])
    (server / "Clips/A002C007_141024_R2EC.mov").unlink()
    assert said(server) == ("partial", 2, [("stop", "missing", "Clips/A002C007_141024_R2EC.mov")])


def test_scenario_3_another_algorithm_on_the_server(server, ascmhl_tool):
    assert ascmhl_tool("create", "-h", "md5", server).returncode == 0
    assert said(server) == (WHOLE, 2, [])
    flip(server / "Clips/A002C006_141024_R2EC.mov")
    proof, _, codes = said(server)
    assert (proof, codes) == ("partial", [("stop", "altered", "Clips/A002C006_141024_R2EC.mov")])


def test_scenario_4_a_sidecar_altered_before_the_second_generation(server, ascmhl_tool):
    flip(server / "Sidecar.txt")
    assert ascmhl_tool("create", "-h", "xxh64", server).returncode == 11  # the tool's code for a hash that differs
    assert said(server) == ("partial", 2, [("stop", "altered", "Sidecar.txt")])
    flip(server / "Sidecar.txt")  # a good copy is put back
    assert said(server) == (WHOLE, 2, [])


def test_scenario_5_two_cards_with_histories_in_one_folder_with_another(make_card, ascmhl_tool):
    files = {f"A002R2EC/{path}": data for path, data in CARD.items()}
    files |= {f"A003R2EC/{path.replace('A002C', 'A003C')}": data + b"3" for path, data in CARD.items()}
    folder = make_card(files | {"Summary.txt": b"a summary"}, name="Reels")
    for card in ("A002R2EC", "A003R2EC"):
        assert ascmhl_tool("create", "-h", "xxh64", folder / card).returncode == 0
    assert ascmhl_tool("create", "-h", "xxh64", folder).returncode == 0
    assert said(folder) == (WHOLE, 5, [])  # two generations of each card, and the folder's one
    flip(folder / "A003R2EC/Clips/A003C006_141024_R2EC.mov")
    (folder / "A002R2EC/Sidecar.txt").rename(folder / "A002R2EC/Side.txt")
    proof, _, codes = said(folder)
    assert (proof, sorted(codes)) == (
        "partial",
        [
            ("stop", "altered", "A003R2EC/Clips/A003C006_141024_R2EC.mov"),
            ("stop", "renamed", "A002R2EC/Side.txt"),
        ],
    )
