"""Writing generations of ASC MHL histories. Outside sources: the format's reference tool (ascmhl 1.2), which must
accept them; the specification v1.0 (sections named) and its XSD for the order of elements."""

import itertools
import os
import re
import signal
import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest

from review.cards.hashing import hash_bytes, hash_files
from review.cards.manifests import ascmhl_writer as writer
from review.cards.manifests import gather_checksums
from review.cards.manifests.ascmhl_writer import CannotWrite, write_generation
from review.cards.manifests.ascmhl_xml import HASH_ORDER, parse_chain, parse_manifest
from review.cards.tree import read_tree

FILES = {"CLIP/A.MOV": b"abc", "CLIP/é & b.MOV": b"b", "Reels/R1/C.MOV": b"c", "notes.txt": b"n", "EMPTY/": b""}
STARTED = datetime(2026, 11, 12, 17, 30, 5, tzinfo=UTC)


def gather(folder):
    return gather_checksums(read_tree(folder))


def seal(folder, *algorithms, started=STARTED, **more):
    """Hash everything anew and add a generation."""
    tree = read_tree(folder)
    hashes, _ = hash_files(folder, {path: set(algorithms or ["xxh128"]) for path in tree.sizes})
    return write_generation(folder, hashes, tree.sizes, tool_version="1.0", started=started, **more)


def accepted(tool, folder, *, but_folders=False):
    """Whether the reference tool has nothing to say against the card, its files and its folders.

    `but_folders` where a file was added or renamed: the tool holds a folder against its hashes of all generations,
    also of those before that.
    """
    runs = [tool("diff", folder), tool.debug("verify", folder)]
    runs += [] if but_folders else [tool.debug("verify", "-dh", folder)]
    assert not [(run.returncode, run.stdout, run.stderr) for run in runs if run.returncode or run.stderr]
    return True


def listed(path):
    """{path: (previous path, {algorithm: action})} of a manifest."""
    generation, actions = parse_manifest(path.read_bytes()), {}
    tag = "{urn:ASC:MHL:v2.0}"
    for element in ET.parse(path).getroot().iterfind(f"{tag}hashes/{tag}hash"):
        kinds = {child.tag.removeprefix(tag): child.get("action") for child in element if child.get("action")}
        actions[element.findtext(f"{tag}path")] = kinds
    return {file.path: (file.previous_path, actions[file.path]) for file in generation.files}


@pytest.fixture
def begun(make_card, ascmhl_tool):
    """A card whose history the reference tool began, in xxh64."""
    folder = make_card(FILES)
    assert ascmhl_tool("create", "-h", "xxh64", folder).returncode == 0
    return folder


# The first generation --------------------------------------------------------------------------


def test_it_works(make_card, ascmhl_tool):
    folder = make_card(FILES)
    path = seal(folder, *HASH_ORDER)
    assert path.name == "0001_KB04-261112-A03_2026-11-12_173005Z.mhl"
    assert accepted(ascmhl_tool, folder)
    assert "Generation 1" in ascmhl_tool("info", folder).stdout


def test_the_reference_tool_sees_what_was_altered_after_writing(make_card, ascmhl_tool):
    folder = make_card(FILES)
    seal(folder)
    (folder / "CLIP/A.MOV").write_bytes(b"abd")
    assert ascmhl_tool.debug("verify", folder).returncode == 11  # the tool's code for a hash that differs
    assert ascmhl_tool.debug("verify", "-dh", folder).returncode == 12  # and for a folder's


def test_the_reference_tool_adds_its_own_generation(make_card, ascmhl_tool):
    folder = make_card(FILES)
    seal(folder)
    assert ascmhl_tool("create", "-h", "xxh128", folder).returncode == 0
    checksums = gather(folder)
    assert (checksums.expected.keys(), checksums.findings, len(checksums.sources)) == (
        read_tree(folder).sizes.keys(),
        [],
        2,
    )


def test_what_was_written_reads_back(make_card):
    folder = make_card(FILES)
    tree = read_tree(folder)
    hashes, _ = hash_files(folder, {path: set(HASH_ORDER) for path in tree.sizes})
    write_generation(folder, hashes, tree.sizes, tool_version="1.0")
    checksums = gather(folder)
    assert (checksums.expected, checksums.findings) == (hashes, [])
    assert checksums.sizes == tree.sizes
    assert sorted(path.name for path in (folder / "ascmhl").iterdir())[1] == "ascmhl_chain.xml"


def test_names_with_a_newline_and_markup_read_back(make_card):
    folder = make_card({"two\nlines <&> 'q\".MOV": b"abc", " spaced ": b"s"})
    seal(folder)
    assert gather(folder).expected.keys() == read_tree(folder).sizes.keys()


def test_elements_stand_in_the_order_of_the_xsd(make_card, ascmhl_tool):
    """ascmitc/mhl: xsd/ASCMHL.xsd, HashListType, CreatorInfoType, ProcessInfoType, HashType, DirectoryHashType."""
    folder = make_card(FILES)
    ascmhl_tool("create", "-h", "md5", folder / "Reels/R1")
    seal(folder, *HASH_ORDER)
    (folder / "CLIP/A.MOV").rename(folder / "CLIP/Z.MOV")
    path = seal(folder, *HASH_ORDER, author="Maya Lind", comment="Before the\x07wipe")
    root = ET.fromstring(re.sub(' xmlns="[^"]+"', "", path.read_text()))
    orders = {
        "hashlist": ["creatorinfo", "processinfo", "hashes", "metadata", "references"],
        "creatorinfo": ["creationdate", "hostname", "tool", "author", "location", "comment"],
        "processinfo": ["process", "roothash", "ignore"],
        "roothash": ["content", "structure"],
        "hash": ["path", *HASH_ORDER, "previousPath", "metadata"],
        "directoryhash": ["path", "content", "structure", "previousPath", "metadata"],
        "content": list(HASH_ORDER),
        "structure": list(HASH_ORDER),
        "hashlistreference": ["path", "c4"],
    }
    met = set()
    for element in root.iter():
        if order := orders.get(element.tag):
            places = [order.index(child.tag) for child in element]
            assert places == sorted(places), element.tag
            met.add(element.tag)
    assert met == orders.keys()
    assert root.findtext("creatorinfo/comment") == "Before the wipe"


def test_nothing_is_left_when_writing_fails(make_card, monkeypatch):
    folder = make_card({"A.MOV": b"abc"})

    def full(self, target):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("pathlib.Path.rename", full)
    with pytest.raises(OSError, match="No space left"):
        seal(folder)
    assert [path.name for path in folder.iterdir()] == ["A.MOV"]


def test_a_sealing_cut_short_is_done_again(make_card):
    folder = make_card({"A.MOV": b"abc", ".ascmhl.part/half.mhl": b"<"})
    assert [file.path for file in read_tree(folder).files] == ["A.MOV"]
    seal(folder)
    assert sorted(path.name for path in folder.iterdir()) == ["A.MOV", "ascmhl"]


@pytest.mark.parametrize(
    ("path", "hashes", "words"),
    [
        ("A.MOV", {"sha256": "00"}, "not sha256"),
        ("A.MOV", {}, "no hash at all"),
        ("A\x07.MOV", {"md5": "00"}, "a control character in its name"),
    ],
)
def test_what_the_format_cannot_hold_is_refused(make_card, path, hashes, words):
    folder = make_card({"A.MOV": b"abc"})
    with pytest.raises(ValueError, match=words):
        write_generation(folder, {path: hashes}, {path: 3}, tool_version="1")
    assert not (folder / "ascmhl").exists()


@pytest.mark.parametrize("kind", ["a file", "a link"])
def test_what_is_in_the_way_of_the_folder_is_refused(make_card, tmp_path, kind):
    folder = make_card({"A.MOV": b"abc"})
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    if kind == "a file":
        (folder / "ascmhl").write_text("x")
    else:
        (folder / "ascmhl").symlink_to(elsewhere)
    with pytest.raises(CannotWrite, match="ascmhl is in the way"):
        seal(folder)
    assert list(elsewhere.iterdir()) == []


# Later generations -----------------------------------------------------------------------------


def test_a_generation_is_added_to_a_history_of_the_reference_tool(begun, ascmhl_tool):
    first = next((begun / "ascmhl").glob("0001*.mhl"))
    before = first.read_bytes()
    path = seal(begun, "xxh64", "xxh128")
    assert path.name == "0002_KB04-261112-A03_2026-11-12_173005Z.mhl"
    assert set(map(str, listed(path).values())) == {str((None, {"xxh128": "verified", "xxh64": "verified"}))}
    assert [entry.number for entry in parse_chain((begun / "ascmhl/ascmhl_chain.xml").read_bytes())] == [1, 2]
    assert first.read_bytes() == before
    assert accepted(ascmhl_tool, begun)
    assert gather(begun).findings == []


def test_generations_take_turns(begun, ascmhl_tool):
    seal(begun, "xxh64", "xxh128")
    assert ascmhl_tool("create", "-h", "md5", begun).returncode == 0
    seal(begun, "md5", "xxh128")
    checksums = gather(begun)
    assert (len(checksums.sources), checksums.findings) == (4, [])
    assert checksums.expected["CLIP/A.MOV"] == {name: hash_bytes(b"abc", name) for name in ("md5", "xxh64", "xxh128")}
    assert accepted(ascmhl_tool, begun)


def test_a_new_file_is_original(begun, ascmhl_tool):
    (begun / "late.txt").write_bytes(b"late")
    entries = listed(seal(begun, "xxh64", "xxh128"))
    assert entries["late.txt"] == (None, {"xxh64": "original", "xxh128": "original"})
    assert entries["notes.txt"] == (None, {"xxh64": "verified", "xxh128": "verified"})
    assert accepted(ascmhl_tool, begun, but_folders=True)


def test_an_altered_file_has_failed_and_no_new_hash_vouches_for_it(begun, ascmhl_tool):
    """Specification 6.5.1: a hash in a new algorithm needs a verified one beside it."""
    (begun / "CLIP/A.MOV").write_bytes(b"abd")
    assert listed(seal(begun, "xxh64", "xxh128"))["CLIP/A.MOV"] == (None, {"xxh64": "failed"})
    assert ascmhl_tool.debug("verify", begun).returncode == 11
    (begun / "CLIP/A.MOV").write_bytes(b"abc")  # a good copy is put back
    assert listed(seal(begun, "xxh64"))["CLIP/A.MOV"] == (None, {"xxh64": "verified"})
    assert ascmhl_tool.debug("verify", begun).returncode == 0


def test_a_file_must_be_hashed_with_an_algorithm_that_its_history_has(begun):
    with pytest.raises(CannotWrite, match=r"CLIP/A.MOV must be hashed with xxh64"):
        seal(begun, "xxh128")
    assert len(list((begun / "ascmhl").iterdir())) == 2


def test_a_renamed_file_is_recorded_with_its_previous_path(begun, ascmhl_tool):
    """Specification 5.6.6 and 6.5."""
    (begun / "CLIP/A.MOV").rename(begun / "CLIP/Z.MOV")
    assert listed(seal(begun, "xxh64"))["CLIP/Z.MOV"] == ("CLIP/A.MOV", {"xxh64": "verified"})
    assert accepted(ascmhl_tool, begun, but_folders=True)
    assert listed(seal(begun, "xxh64"))["CLIP/Z.MOV"] == (None, {"xxh64": "verified"})  # once is enough
    assert accepted(ascmhl_tool, begun, but_folders=True)
    checksums = gather(begun)
    assert "CLIP/A.MOV" not in checksums.expected and checksums.findings == []


def test_the_ignore_list_only_grows(make_card, ascmhl_tool):
    """Implementation guidelines 2.4."""
    folder = make_card(FILES | {"cache/x": b"x", "CLIP/A.tmp": b"t"})
    ascmhl_tool("create", "-h", "xxh128", "-i", "cache/", "-i", "*.tmp", folder)
    patterns = parse_manifest(next((folder / "ascmhl").glob("0001*")).read_bytes()).ignore_patterns
    path = seal(folder)
    after = parse_manifest(path.read_bytes()).ignore_patterns
    assert after[: len(patterns)] == patterns and "._*" in after
    assert not listed(path).keys() & {"cache/x", "CLIP/A.tmp"}
    assert accepted(ascmhl_tool, folder)


# Nested histories ------------------------------------------------------------------------------


def test_a_nested_history_gets_a_generation_of_its_own_that_the_cards_refers_to(make_card, ascmhl_tool):
    """Specification 5.3.2."""
    folder = make_card(FILES | {"Reels/R1/sub/D.MOV": b"d"})
    ascmhl_tool("create", "-h", "md5", folder / "Reels/R1/sub")
    ascmhl_tool("create", "-h", "md5", folder / "Reels/R1")
    path = seal(folder, "md5", "xxh128")
    assert listed(path).keys() == {"CLIP/A.MOV", "CLIP/é & b.MOV", "notes.txt"}
    (reference,) = parse_manifest(path.read_bytes()).references
    assert re.fullmatch(r"Reels/R1/ascmhl/0002_R1_2026-11-12_173005Z\.mhl", reference[0])
    nested = folder / reference[0]
    assert hash_bytes(nested.read_bytes(), "c4") == reference[1]
    assert listed(nested) == {"C.MOV": (None, {"md5": "verified", "xxh128": "verified"})}
    assert parse_manifest(nested.read_bytes()).references[0][0].startswith("sub/ascmhl/0003_sub_")
    assert accepted(ascmhl_tool, folder)
    assert gather(folder).findings == []
    seal(folder, "md5", "xxh128")
    assert accepted(ascmhl_tool, folder) and gather(folder).findings == []


def test_patterns_are_handed_down_to_a_nested_history(make_card, ascmhl_tool):
    files = {"Reels/R1/C.tmp": b"t", "Reels/R1/cut/x": b"x", "Reels/R1/deep/cut/y": b"y", "A.MOV": b"a"}
    folder = make_card(FILES | files)
    ascmhl_tool("create", "-h", "md5", folder / "Reels/R1")
    ascmhl_tool("create", "-h", "md5", "-i", "*.tmp", "-i", "Reels/R1/cut", folder)
    seal(folder, "md5")
    nested = max((folder / "Reels/R1/ascmhl").glob("*.mhl"))
    assert {"*.tmp", "/cut"} <= set(parse_manifest(nested.read_bytes()).ignore_patterns)
    assert listed(nested).keys() == {"C.MOV", "deep/cut/y"}
    assert not {path for path in gather(folder).expected if path.endswith((".tmp", "R1/cut/x"))}


# What cannot be added to -----------------------------------------------------------------------


def alter(path: Path) -> None:
    path.write_text(path.read_text().replace("verified", "original") + "\n")


@pytest.mark.parametrize(
    ("harm", "words"),
    [
        (lambda folder: alter(next((folder / "ascmhl").glob("0001*"))), "was altered after the chain recorded it"),
        (lambda folder: next((folder / "ascmhl").glob("0001*")).unlink(), "is missing, though the chain names it"),
        (lambda folder: (folder / "ascmhl/ascmhl_chain.xml").unlink(), "ascmhl_chain.xml is missing"),
        (lambda folder: (folder / "ascmhl/ascmhl_chain.xml").write_text("<"), "cannot be read"),
        (lambda folder: (folder / "ascmhl/0002_of_others.mhl").write_text("<"), "another program's writing was cut"),
        (lambda folder: alter(next((folder / "Reels/R1/ascmhl").glob("0001*"))), "Reels/R1/ascmhl/0001"),
    ],
)
def test_a_history_that_is_not_whole_is_not_added_to(make_card, ascmhl_tool, harm, words):
    folder = make_card(FILES)
    ascmhl_tool("create", "-h", "md5", folder / "Reels/R1")
    ascmhl_tool("create", "-h", "md5", folder)
    harm(folder)
    before = {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()}
    with pytest.raises(CannotWrite, match=words):
        seal(folder, "md5")
    assert {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()} == before


def test_two_do_not_seal_at_once(make_card, monkeypatch):
    folder = make_card({"A.MOV": b"abc"})
    real = writer.histories_to_append

    def meanwhile(folder):
        monkeypatch.setattr(writer, "histories_to_append", real)
        with pytest.raises(CannotWrite, match="is being sealed by somebody else"):
            seal(folder)
        return real(folder)

    monkeypatch.setattr(writer, "histories_to_append", meanwhile)
    seal(folder)
    assert len(list((folder / "ascmhl").iterdir())) == 2


# Cut short -------------------------------------------------------------------------------------

SEAL_AND_DIE = """
import os, signal, sys
from pathlib import Path
from review.cards.hashing import hash_files
from review.cards.manifests import ascmhl_writer as writer
from review.cards.tree import read_tree

folder, steps = Path(sys.argv[1]), int(sys.argv[2])
for name in ("_write_through", "_sync_folder"):
    def step(*given, real=getattr(writer, name)):
        global steps
        real(*given)
        steps -= 1
        if not steps:
            os.kill(os.getpid(), signal.SIGKILL)
    setattr(writer, name, step)
tree = read_tree(folder)
hashes, _ = hash_files(folder, {path: ["md5", "xxh128"] for path in tree.sizes})
writer.write_generation(folder, hashes, tree.sizes, tool_version="1.0")
"""


def test_killed_at_any_step_the_history_is_whole_and_can_be_added_to(make_card, ascmhl_tool):
    """With real kills, after each write and each rename of a sealing of the card and of a history nested in it."""
    folder = make_card({"A.MOV": b"abc", "Reels/R1/C.MOV": b"c"})
    ascmhl_tool("create", "-h", "md5", folder / "Reels/R1")
    ascmhl_tool("create", "-h", "md5", folder)
    for steps in itertools.count(1):
        command = [sys.executable, "-c", SEAL_AND_DIE, folder, str(steps)]
        done = subprocess.run(command, cwd=Path(__file__).parents[2], env=os.environ, timeout=60)
        stops = [each for each in gather(folder).findings if each.severity == "stop"]
        assert not stops, (steps, stops)
        assert ascmhl_tool.debug("verify", folder).returncode == 0, steps
        if done.returncode == 0:
            break
        assert done.returncode == -signal.SIGKILL
    assert steps == 9  # four writes, four renames, and none of them deadly
    seal(folder, "md5", "xxh128")
    left = sorted(path.name for path in folder.rglob("*") if path.name.startswith("."))
    assert left == [] and gather(folder).findings == []
    assert accepted(ascmhl_tool, folder)


def test_a_manifest_that_the_chain_does_not_name_yet_is_told_and_gives_way(make_card, ascmhl_tool, monkeypatch):
    folder = make_card({"A.MOV": b"abc"})
    seal(folder)
    real = writer._put

    def put(path, data):
        if path.name == "ascmhl_chain.xml":
            raise OSError(28, "No space left on device")
        real(path, data)

    monkeypatch.setattr(writer, "_put", put)
    with pytest.raises(OSError, match="No space left"):
        seal(folder, started=STARTED.replace(hour=18))
    assert [(each.code, each.severity) for each in gather(folder).findings] == [("mhl-not-used", "caution")]
    assert accepted(ascmhl_tool, folder)
    monkeypatch.setattr(writer, "_put", real)
    seal(folder, started=STARTED.replace(hour=19))
    assert [path.name[:4] for path in sorted((folder / "ascmhl").iterdir())] == ["0001", "0002", "ascm"]
    assert gather(folder).findings == [] and accepted(ascmhl_tool, folder)
