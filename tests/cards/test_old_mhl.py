"""MHL lists of version 1.x. The format is written here from memory: no outside source was at hand."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from review.cards.checking import check_card
from review.cards.hashing import hash_bytes
from review.cards.manifests import gather_checksums
from review.cards.manifests.old_mhl import is_old_mhl, parse_old_mhl
from review.cards.manifests.plain_lists import Entry
from review.cards.tree import read_tree

FILES = {"CLIP/A.MOV": b"abc", "CLIP/é & b.MOV": b"b", "notes.txt": b"n"}


def entry(path, data, tag="md5", algorithm="md5"):
    name = path.replace("&", "&amp;")
    digest = hash_bytes(data, algorithm)
    return (
        f"<hash><file>{name}</file><size>{len(data)}</size><lastmodificationdate>2026-11-12T17:00:00Z"
        f"</lastmodificationdate><{tag}>{digest}</{tag}><hashdate>2026-11-12T17:30:00Z</hashdate></hash>"
    )


def mhl(*entries):
    creator = "<creatorinfo><name>Maya Lind</name><tool>a tool</tool></creatorinfo>"
    return f'<?xml version="1.0"?><hashlist version="1.1">{creator}{"".join(entries)}</hashlist>'.encode()


def gather(folder):
    return gather_checksums(read_tree(folder))


@pytest.mark.parametrize("place", ["card.mhl", "CARD.MHL", "CLIP/deep/card.mhl", "../KB04-261112-A03.mhl"])
@pytest.mark.parametrize(("tag", "algorithm"), [("md5", "md5"), ("sha1", "sha1"), ("xxhash64be", "xxh64")])
def test_it_works(make_card, place, tag, algorithm):
    folder = make_card(FILES)
    (folder / place).parent.mkdir(parents=True, exist_ok=True)
    (folder / place).write_bytes(mhl(*(entry(path, data, tag, algorithm) for path, data in FILES.items())))
    checksums = gather(folder)
    assert checksums.expected == {path: {algorithm: hash_bytes(data, algorithm)} for path, data in FILES.items()}
    assert checksums.sizes == {path: len(data) for path, data in FILES.items()}
    assert (checksums.sources, checksums.findings) == ([place], [])


def test_paths_that_begin_with_the_cards_folder(make_card):
    folder = make_card(FILES)
    (folder.parent / "thursday.mhl").write_bytes(mhl(entry("KB04-261112-A03/CLIP/A.MOV", b"abc")))
    assert gather(folder).expected.keys() == {"CLIP/A.MOV"}


def test_a_card_is_checked_against_it(make_card):
    folder = make_card({"CLIP/A.MOV": b"abc"})
    (folder / "card.mhl").write_bytes(mhl(entry("CLIP/A.MOV", b"abc")))
    report = check_card(folder, production="KB04", probe=lambda path: "a clip")
    assert (report.proof, report.findings) == ("checksums", ())
    (folder / "CLIP/A.MOV").write_bytes(b"abcd")
    (finding,) = check_card(folder, production="KB04", probe=lambda path: "a clip").findings
    assert finding.what.endswith("its md5 checksum differs. It has 4 bytes; 3 were listed.")


@pytest.mark.parametrize("tag", ["xxhash", "xxhash64"])
def test_hashes_that_are_not_clear_prove_nothing_and_it_is_said(make_card, tag):
    folder = make_card(FILES)
    (folder / "card.mhl").write_bytes(mhl(entry("CLIP/A.MOV", b"abc", tag), entry("notes.txt", b"n")))
    checksums = gather(folder)
    assert checksums.expected.keys() == {"notes.txt"}
    (finding,) = checksums.findings
    assert (finding.severity, finding.code, finding.where) == ("caution", "unclear-hash", "card.mhl")
    assert "proves nothing, for: CLIP/A.MOV." in finding.what


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("<hash><file>../A.MOV</file><md5>0</md5></hash>", "entry 1: '../A.MOV' leads out of the card"),
        ("<hash><file>CLIP/A.MOV</file><md5>12</md5></hash>", "entry 1: '12' is not an md5 checksum of 32 digits"),
        ("<hash><md5>12</md5></hash>", "entry 1: '' names no file"),
        ("", "it lists no file of this card"),
    ],
)
def test_a_damaged_one_stops(make_card, text, words):
    folder = make_card(FILES)
    (folder / "card.mhl").write_bytes(mhl(text))
    (finding,) = gather(folder).findings
    assert (finding.severity, finding.code, finding.where) == ("stop", "bad-list", "card.mhl")
    assert words in finding.what


@pytest.mark.parametrize(
    "data",
    [b'<hashlist version="2.0"/>', b"<hashlist/>", b"<other/>", b"no XML", b'<!DOCTYPE x><hashlist version="1"/>'],
)
def test_what_is_none_is_told_and_not_used(make_card, data):
    folder = make_card(FILES)
    (folder / "card.mhl").write_bytes(data)
    assert [(each.severity, each.code) for each in gather(folder).findings] == [("caution", "mhl-not-used")]


PIECES = [
    "<hash>",
    "</hash>",
    "<file>",
    "</file>",
    "<md5>",
    "</md5>",
    "<size>9</size>",
    "../",
    "a/b",
    "\0",
    "&#0;",
    "<",
]
INSIDE = st.lists(st.sampled_from(PIECES) | st.text(max_size=3), max_size=20).map(lambda parts: mhl("".join(parts)))


@given(st.binary(max_size=200) | INSIDE)
def test_any_bytes_are_entries_or_a_refusal(data):
    try:
        entries, problems, unclear = parse_old_mhl(data)
    except ValueError as problem:
        assert str(problem) and not is_old_mhl(data)
        return
    assert all(isinstance(each, Entry) and ".." not in each.path.split("/") for each in entries)
    assert all(problem.startswith("entry ") for problem in problems) and not set(unclear) & {
        each.path for each in entries
    }
