"""Directory hashes of ASC MHL. Outside sources: the format's reference tool (ascmhl 1.2), which writes them; the
specification v1.0, 6.5.2 and appendix G."""

import re
import string

import pytest
from hypothesis import given
from hypothesis import strategies as st

from review.cards.checking import check_card
from review.cards.hashing import hash_bytes, hash_files
from review.cards.manifests.ascmhl_folders import folder_hashes
from review.cards.manifests.ascmhl_history import read_history
from review.cards.manifests.ascmhl_xml import HASH_ORDER
from review.cards.tree import read_tree

FILES = {
    "CLIP/A.MOV": b"abc",
    "CLIP/sub/b.XML": b"b",
    "Reels/R1/C.MOV": b"c",
    "Reels/R1/deep/D.MOV": b"d",
    "notes.txt": b"n",
    "EMPTY/": b"",
}


@pytest.fixture
def card(make_card, ascmhl_tool):
    folder = make_card(FILES)
    assert ascmhl_tool("create", "-h", "xxh64", folder).returncode == 0
    return folder


def said(folder):
    report = check_card(folder, production="KB04", probe=lambda path: "a clip")
    return [(each.severity, each.code, each.where) for each in report.findings]


def words(folder):
    (finding,) = check_card(folder, production="KB04", probe=lambda path: "a clip").findings
    return finding.what


def test_it_works_as_worked_out_by_hand():
    """{a.mov: "a", b.mov: "b"} in xxh64, step by step by the xxhash library."""
    files = {"a.mov": hash_bytes(b"a", "xxh64"), "b.mov": hash_bytes(b"b", "xxh64")}
    made = folder_hashes(files, [], "xxh64")
    assert made == {"": ("b4ed27a1e582f218", "a385f780e712c04d")}


def test_an_empty_folder_is_the_hash_of_nothing():
    made = folder_hashes({}, ["EMPTY"], "xxh64")
    assert made["EMPTY"] == ("ef46db3751d8e999", "ef46db3751d8e999")
    assert made[""].content != made["EMPTY"].content


@pytest.mark.parametrize("algorithm", HASH_ORDER)
def test_the_reference_tool_comes_to_the_same(make_card, ascmhl_tool, algorithm):
    folder = make_card(FILES | {"é & b/two words.txt": b"x"})
    ascmhl_tool("create", "-h", algorithm, folder)
    tree = read_tree(folder)
    hashes, _ = hash_files(folder, {path: [algorithm] for path in tree.sizes})
    made = folder_hashes({path: each[algorithm] for path, each in hashes.items()}, tree.folders, algorithm)
    (vouched,) = read_history(folder, "").generations
    assert {folder.path: folder.hashes[algorithm] for folder in vouched.generation.folders} == made
    assert made.keys() == {"", *tree.folders}


names = st.text(string.ascii_lowercase, min_size=1, max_size=2)
trees = st.dictionaries(st.lists(names, min_size=1, max_size=3).map("/".join), st.binary(max_size=2), max_size=8)


@given(trees.filter(lambda files: not any(b.startswith(f"{a}/") for a in files for b in files)))
def test_a_renamed_file_changes_the_structure_and_not_the_content(files):
    digests = {path: hash_bytes(data, "xxh64") for path, data in files.items()}
    moved = {f"{path}.old" if path == max(files) else path: digest for path, digest in digests.items()}
    before, after = folder_hashes(digests, [], "xxh64")[""], folder_hashes(moved, [], "xxh64")[""]
    assert before.content == after.content
    assert (before.structure == after.structure) == (not files)


# On a card -------------------------------------------------------------------------------------


def test_a_whole_card_says_nothing(card):
    assert said(card) == []


def test_an_empty_folder_that_was_added_is_told_once_and_named(card):
    (card / "CLIP/sub/new").mkdir()
    assert said(card) == [("caution", "folder-differs", "CLIP/sub")]
    assert words(card).startswith("CLIP/sub holds what its history does not list: CLIP/sub/new, which hold")


def test_an_empty_folder_that_was_lost_is_told_as_missing(card):
    (card / "EMPTY").rmdir()
    assert said(card) == [("caution", "missing", "EMPTY")]


def test_what_a_file_explains_is_told_of_the_file(card):
    (card / "CLIP/A.MOV").write_bytes(b"abd")
    (card / "CLIP/sub/b.XML").rename(card / "CLIP/sub/c.XML")
    (card / "late.txt").write_bytes(b"late")
    (card / "Reels/R1/deep/D.MOV").unlink()
    assert sorted(said(card)) == [
        ("caution", "unlisted", "late.txt"),
        ("stop", "altered", "CLIP/A.MOV"),
        ("stop", "missing", "Reels/R1/deep/D.MOV"),
        ("stop", "renamed", "CLIP/sub/c.XML"),
    ]


def forge(folder, pattern, new, number=1):
    """Change the manifest, and the chain with it, as somebody does who knows how."""
    (path,) = folder.glob(f"ascmhl/{number:04}_*.mhl")
    c4, text = hash_bytes(path.read_bytes(), "c4"), path.read_text()
    changed = re.sub(pattern, new, text, count=1, flags=re.DOTALL)
    assert changed != text
    path.write_text(changed)
    chain = folder / "ascmhl/ascmhl_chain.xml"
    chain.write_text(chain.read_text().replace(c4, hash_bytes(path.read_bytes(), "c4")))


def test_a_file_that_was_taken_out_of_the_list_and_the_card_shows_in_the_hash_of_its_folder(card):
    (card / "Reels/R1/deep/D.MOV").unlink()
    forge(card, r"<hash>\s*<path[^>]*>Reels/R1/deep/D.MOV</path>.*?</hash>", "")
    assert said(card) == [("caution", "folder-differs", "Reels/R1/deep")]
    assert "Every file in Reels/R1/deep agrees" in words(card) and "hash of its contents" in words(card)


def test_a_file_that_was_renamed_in_the_list_and_on_the_card_shows_in_the_structure(card):
    (card / "CLIP/A.MOV").rename(card / "CLIP/Z.MOV")
    forge(card, ">CLIP/A.MOV<", ">CLIP/Z.MOV<")
    assert said(card) == [("caution", "folder-differs", "CLIP")]
    assert "hash of its names and places" in words(card)


def test_the_root_has_a_hash_too(card):
    forge(card, r"(<roothash>.*?<xxh64[^>]*>)[0-9a-f]{16}", r"\g<1>0000000000000000")
    assert said(card) == [("caution", "folder-differs", "")]
    assert words(card).startswith("Every file in the card folder agrees")


def test_a_generation_that_saw_an_altered_file_is_not_held_against_the_good_one(card, ascmhl_tool):
    (card / "CLIP/A.MOV").write_bytes(b"abd")
    ascmhl_tool("create", "-h", "xxh64", card)
    (card / "CLIP/A.MOV").write_bytes(b"abc")
    assert said(card) == []


def test_a_later_generation_of_a_single_file_does_not_make_the_folders_wrong(card, ascmhl_tool):
    (card / "CLIP/new.txt").write_bytes(b"new")
    ascmhl_tool("create", "-h", "xxh64", "-sf", card / "CLIP/new.txt", card)
    assert said(card) == []


def test_the_last_generation_speaks_of_a_card_that_grew(card, ascmhl_tool):
    (card / "CLIP/new.txt").write_bytes(b"new")
    (card / "CLIP/A.MOV").rename(card / "CLIP/Z.MOV")
    ascmhl_tool("create", "-h", "xxh64", "-dr", card)
    assert said(card) == []
    (card / "CLIP/added").mkdir()
    assert said(card) == [("caution", "folder-differs", "CLIP")]


@pytest.mark.parametrize("patterns", [["*.tmp"], ["cache/"], ["*.tmp", "cache/", "Reels/R1/deep"]])
def test_what_is_ignored_is_in_no_folders_hash(make_card, ascmhl_tool, patterns):
    folder = make_card(FILES | {"CLIP/A.tmp": b"t", "cache/x": b"x", "Reels/R1/cache/y": b"y"})
    options = [word for pattern in patterns for word in ("-i", pattern)]
    ascmhl_tool("create", "-h", "xxh64", *options, folder)
    assert "folder-differs" not in [code for _, code, _ in said(folder)]
    (folder / "CLIP/sub/added").mkdir()
    assert ("caution", "folder-differs", "CLIP/sub") in said(folder)


def test_nested_histories_are_part_of_the_folders_around_them(make_card, ascmhl_tool):
    folder = make_card(FILES)
    ascmhl_tool("create", "-h", "md5", folder / "Reels/R1")
    ascmhl_tool("create", "-h", "xxh64", "-h", "md5", folder)
    assert said(folder) == []
    (folder / "Reels/R1/deep/added").mkdir()
    assert said(folder) == [("caution", "folder-differs", "Reels/R1/deep")]
    (folder / "Reels/R1/deep/added").rmdir()
    (folder / "Reels/added").mkdir()
    assert said(folder) == [("caution", "folder-differs", "Reels")]


def test_a_nested_history_that_went_on_by_itself_does_not_make_the_folders_around_it_wrong(make_card, ascmhl_tool):
    """Specification 5.3.2: the references of the history above are then out of date."""
    folder = make_card(FILES)
    ascmhl_tool("create", "-h", "md5", folder / "Reels/R1")
    ascmhl_tool("create", "-h", "md5", folder)
    (folder / "Reels/R1/new.txt").write_bytes(b"new")
    ascmhl_tool("create", "-h", "md5", folder / "Reels/R1")
    assert said(folder) == []


def test_a_digest_that_is_none_is_no_crash(card):
    forge(card, r"(<path[^>]*>notes.txt</path>\s*<xxh64[^>]*>)[0-9a-f]{16}", r"\g<1>zz")
    forge(card, r"(<roothash>.*?<xxh64[^>]*>)[0-9a-f]{16}", r"\g<1>zz")
    assert ("stop", "altered", "notes.txt") in said(card)
