import shutil
from contextlib import closing
from pathlib import Path

import pytest

from tests.conftest import film
from tests.faults.house import House, lay_tables

CARD = "KB04-261112-A01"
_told: list[tuple[str, str, int, str, str]] = []


@pytest.fixture
def tally(request):
    """Write down for the table what was done how often, once it has been counted that nothing was lost. What several
    tests call by the same words is one row."""

    def tell(fault: str, tried: str, times: int = 1) -> None:
        _told.append((fault, tried, times, request.node.nodeid.removeprefix("tests/faults/")))

    return tell


def pytest_terminal_summary(terminalreporter):
    together: dict[tuple[str, str], list[tuple[int, str]]] = {}
    for fault, tried, times, test in _told:
        together.setdefault((fault, tried), []).append((times, test))
    if together:
        terminalreporter.write_line("")
        terminalreporter.write_line("| fault | what was tried | how often | lost | test |\n|---|---|---|---|---|")
    for (fault, tried), rows in together.items():
        test = rows[0][1] if len(rows) == 1 else rows[0][1].partition("::")[0]
        terminalreporter.write_line(f"| {fault} | {tried} | {sum(row[0] for row in rows)} | nothing | `{test}` |")


@pytest.fixture(scope="session")
def house(tmp_path_factory, django_db_setup):
    """A house with a card: a short clip and a long one, files beside them, everything made, a copy and a list. It is
    lent to one test after the other, which all leave it in order."""
    folder = tmp_path_factory.mktemp("house")
    lay_tables(folder / "home")
    with closing(House(folder / "house", home=folder / "home")) as house:
        house.run("open_house")
        shutil.copytree(house.home, house.folder / "bare")
        furnish(house)
        yield house


@pytest.fixture
def bare_house(house, tmp_path):
    """One with a production and its owner, and nothing else."""
    home = shutil.copytree(house.folder / "bare", tmp_path / "home")
    with closing(House(tmp_path / "house", home=home)) as bare:
        yield bare


def furnish(house: House) -> None:
    folder = make_card(house.cards)
    shutil.copytree(folder, house.copies / CARD)
    house.run("take_in", str(folder))
    house.run("prove_copy", str(house.copies / CARD))
    house.run("make_list")


def make_card(root: Path, name: str = CARD, *, long: bool = True) -> Path:
    """A card folder with a short clip, one that is made in sections unless `long` is false, and files that belong to
    nothing. The same footage on two cards would hold them."""
    clips = root / name / "CLIP"
    own(film(clips / "A001C001.MOV", frames=50, size=(160, 90)), name)
    if long:
        own(film(clips / "A001C002.MOV", frames=130, start="10:10:00:00", size=(160, 90)), name)
    for number in range(20):
        (clips / f"NOTE{number:02}.TXT").write_text(f"slate {number}\n" * 500)
    return root / name


def own(clip: Path, name: str) -> Path:
    """Make a clip's bytes its own, by a box that readers leap over (ISO/IEC 14496-12, 8.1.2: free space)."""
    with clip.open("ab") as file:
        file.write((8 + len(name)).to_bytes(4, "big") + b"free" + name.encode())
    return clip
