r"""Checksum lists. Outside source: the coreutils programs, run here to make the lists; the xxhash library where the
list is in xxhsum's form. Where lists lie and what they are called: common practice, no source."""

import os
import subprocess

import pytest
import xxhash
from hypothesis import given
from hypothesis import strategies as st

from review.cards.hashing import hash_bytes
from review.cards.manifests import gather_checksums
from review.cards.manifests.plain_lists import Entry, parse_list
from review.cards.tree import read_tree

MD5 = "900150983cd24fb0d6963f7d28e17f72"  # of b"abc"
FILES = {"CLIP/A.MOV": b"abc", "CLIP/two\nlines.MOV": b"2", "CLIP/back\\slash.MOV": b"3", "é 'x'.XML": b"4"}


def gather(folder):
    return gather_checksums(read_tree(folder))


def run(program, *arguments, cwd):
    environment = os.environ | {"LC_ALL": "C.UTF-8"}
    command = [program, *arguments]
    return subprocess.run(command, cwd=cwd, capture_output=True, check=True, env=environment).stdout


@pytest.mark.parametrize("style", [[], ["--binary"], ["--tag"]])
@pytest.mark.parametrize(
    ("program", "algorithm"), [("md5sum", "md5"), ("sha1sum", "sha1"), ("sha256sum", "sha256"), ("sha512sum", "sha512")]
)
def test_lists_made_by_coreutils(make_card, program, algorithm, style):
    folder = make_card(FILES)
    listed = run(program, *style, *FILES, cwd=folder)
    (folder / f"list.{algorithm}").write_bytes(listed)
    checksums = gather(folder)
    assert checksums.findings == []
    assert checksums.sources == [f"list.{algorithm}"]
    assert checksums.expected == {path: {algorithm: hash_bytes(data, algorithm)} for path, data in FILES.items()}


def xxhsum(algorithm, data):
    function = {"xxh64": xxhash.xxh64, "xxh128": xxhash.xxh3_128, "xxh3": xxhash.xxh3_64, "xxh32": xxhash.xxh32}
    return function[algorithm](data).hexdigest()


@pytest.mark.parametrize(
    ("name", "algorithm", "line"),
    [
        ("a.xxh", "xxh64", "{hash}  {path}"),
        ("a.xxh64", "xxh64", "{hash}  {path}"),
        ("a.xxhash", "xxh128", "{hash}  {path}"),
        ("a.xxh128", "xxh128", "{hash}  {path}"),
        ("a.xxh3", "xxh3", "{hash}  {path}"),
        ("a.xxh", "xxh3", "XXH3_{hash}  {path}"),
        ("a.xxh", "xxh32", "{hash}  {path}"),
        ("checksums.txt", "xxh64", "{hash}  {path}"),
        ("checksums.txt", "xxh3", "XXH3 ({path}) = {hash}"),
        ("checksums.txt", "xxh128", "XXH128 ({path}) = {hash}"),
        ("XXH128SUMS", "xxh128", "{hash}  {path}"),
    ],
)
def test_lists_in_the_form_of_xxhsum(make_card, name, algorithm, line):
    folder = make_card({"CLIP/A.MOV": b"abc"})
    (folder / name).write_text(line.format(hash=xxhsum(algorithm, b"abc"), path="CLIP/A.MOV") + "\n")
    checksums = gather(folder)
    assert (checksums.expected, checksums.findings) == ({"CLIP/A.MOV": {algorithm: xxhsum(algorithm, b"abc")}}, [])


@pytest.mark.parametrize(
    "text",
    [
        f"{MD5}  ./CLIP/A.MOV\n",
        f"{MD5} *CLIP/A.MOV\r\n",
        f"{MD5.upper()} CLIP/A.MOV",
        f"{MD5}\tCLIP/A.MOV\n",
        f"# made on Thursday\n; so it was\n\n{MD5}  CLIP//A.MOV\n",
        f"{MD5} *CLIP\\A.MOV\r\n",
        f"{MD5} *.\\CLIP\\A.MOV\r\n",
        f"MD5 (CLIP/A.MOV) = {MD5}\n",
        f"MD5(CLIP/A.MOV)= {MD5}\n",
        f"{MD5}  KB04-261112-A03/CLIP/A.MOV\n",
        f"{MD5}  KB04-261112-A03\\CLIP\\A.MOV\n",
    ],
)
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_ways_to_write_a_line(make_card, text, encoding):
    folder = make_card({"CLIP/A.MOV": b"abc"})
    (folder / "MD5SUMS").write_bytes(text.encode(encoding))
    checksums = gather(folder)
    assert (checksums.expected, checksums.findings) == ({"CLIP/A.MOV": {"md5": MD5}}, [])


@pytest.mark.parametrize(
    ("place", "listed", "source"),
    [
        ("MD5SUMS", "CLIP/A.MOV", "MD5SUMS"),
        ("CLIP/clip.md5", "A.MOV", "CLIP/clip.md5"),
        ("sums/all.md5", "CLIP/A.MOV", "sums/all.md5"),
        ("a/b/c/all.md5", "CLIP/A.MOV", "a/b/c/all.md5"),
        ("CLIP/a/b/all.md5", "A.MOV", "CLIP/a/b/all.md5"),
        ("MD5SUMS", "UNTITLED/CLIP/A.MOV", "MD5SUMS"),
        ("../KB04-261112-A03.md5", "CLIP/A.MOV", "../KB04-261112-A03.md5"),
        ("../KB04-261112-A03_thursday.md5", "KB04-261112-A03/CLIP/A.MOV", "../KB04-261112-A03_thursday.md5"),
        ("../MD5SUMS", "KB04-261112-A03/CLIP/A.MOV", "../MD5SUMS"),
        ("../thursday.md5", "./KB04-261112-A03/CLIP/A.MOV", "../thursday.md5"),
    ],
)
def test_places_where_a_list_is_found(make_card, place, listed, source):
    folder = make_card({"CLIP/A.MOV": b"abc", "CLIP/B.MOV": b"b"})
    target = folder / place
    target.parent.mkdir(parents=True, exist_ok=True)
    gone = listed.replace("A.MOV", "GONE.MOV")  # a file that did not come is placed like the others
    target.write_text(f"{MD5}  {listed}\n{MD5}  {gone}\n")
    checksums = gather(folder)
    assert (checksums.sources, checksums.findings) == ([source], [])
    assert checksums.expected == {"CLIP/A.MOV": {"md5": MD5}, "CLIP/GONE.MOV": {"md5": MD5}}


def test_another_cards_lists_are_not_this_cards(make_card):
    folder = make_card({"CLIP/A.MOV": b"abc"})
    make_card({"CLIP/A.MOV": b"x"}, name="KB04-261112-B01")
    for name in ("KB04-261112-B01.md5", "KB04-261112-A031.md5", "MD5SUMS"):
        (folder.parent / name).write_text(f"{MD5}  KB04-261112-B01/CLIP/A.MOV\n{MD5}  CLIP/A.MOV\n")
    (folder.parent / "recipes.md5").write_text("flour, water, salt\n")
    checksums = gather(folder)
    assert (checksums.expected, checksums.sources, checksums.findings) == ({}, [], [])


def test_a_list_of_several_cards_that_lies_in_one_speaks_of_that_one(make_card):
    """Cards of one kind have files of the same names."""
    other = hash_bytes(b"other", "md5")
    folder = make_card({"CLIP/A.MOV": b"abc"})
    (folder / "MD5SUMS").write_text(f"{other}  KB04-261112-B01/CLIP/A.MOV\n{MD5}  KB04-261112-A03/CLIP/A.MOV\n")
    checksums = gather(folder)
    assert (checksums.expected, checksums.findings) == ({"CLIP/A.MOV": {"md5": MD5}}, [])


def test_deep_down_a_file_that_only_has_the_name_of_a_list_does_not_stop(make_card):
    folder = make_card({"A.MOV": b"abc", "PRIVATE/CAM/HASHES": b"\x00\x01 of the camera's own", "top.md5": b"no list"})
    findings = gather(folder).findings
    assert [(each.severity, each.code, each.where) for each in findings] == [
        ("caution", "no-list", "PRIVATE/CAM/HASHES"),
        ("stop", "bad-list", "top.md5"),
    ]


def test_a_list_of_everything_is_not_held_to_litter_and_histories(make_card):
    """As `find . -type f` lists them: what an operating system left, and the manifests, which the chain vouches for."""
    files = {"A.MOV": b"abc", "._A.MOV": b"r", "ascmhl/ascmhl_chain.xml": b"<", "ascmhl/README.txt": b"r"}
    folder = make_card(files)
    (folder / "MD5SUMS").write_bytes(run("md5sum", *files, cwd=folder) + f"{MD5}  ascmhl/gone.mhl\n".encode())
    checksums = gather(folder)
    assert checksums.expected.keys() == {"A.MOV", "ascmhl/gone.mhl"}
    assert ("note", "litter", "._A.MOV") in [(each.severity, each.code, each.where) for each in checksums.findings]


def test_lists_are_read_up_to_a_limit_for_all_together(make_card, monkeypatch):
    monkeypatch.setattr("review.cards.manifests.base.MAX_BYTES", 100)
    folder = make_card({"A.MOV": b"abc", "big.md5": b"#" * 101})
    assert "too big to be one: 101 bytes" in gather(folder).findings[0].what


def test_sfv_lists(make_card):
    """Check values: crc32 of zlib, which .sfv files hold."""
    folder = make_card({"CLIP/two words.MOV": b"123456789", "B.MOV": b"abc"})
    (folder / "all.sfv").write_text("; made on Thursday\r\nCLIP\\two words.MOV CBF43926\r\nB.MOV 352441c2\r\n")
    checksums = gather(folder)
    assert checksums.expected == {"CLIP/two words.MOV": {"crc32": "cbf43926"}, "B.MOV": {"crc32": "352441c2"}}
    assert checksums.findings == []
    (folder / "all.sfv").write_text("B.MOV 352441\n../B.MOV 352441c2\n")
    assert "line 1: 'B.MOV 352441' is not a path and a checksum of 8 digits; line 2" in gather(folder).findings[0].what


def test_a_list_that_lists_itself_is_not_held_to_it(make_card):
    folder = make_card({"A.MOV": b"abc"})
    (folder / "MD5SUMS").write_text(f"{MD5}  A.MOV\nd41d8cd98f00b204e9800998ecf8427e  MD5SUMS\n")
    assert gather(folder).expected == {"A.MOV": {"md5": MD5}}


def test_a_name_composed_in_one_place_and_decomposed_in_another_is_one_name(make_card):
    folder = make_card({"e\u0301.MOV": b"abc"})
    (folder / "MD5SUMS").write_text(f"{MD5}  \u00e9.MOV\n")
    assert gather(folder).expected == {"e\u0301.MOV": {"md5": MD5}}


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("flour, water, salt", "line 2: 'flour, water, salt' is not a checksum and a path"),
        (MD5, "is not a checksum and a path"),
        (f"{MD5[:30]}  A.MOV", "not 30: it may be cut short"),
        (f"MD5 (A.MOV) = {MD5[:30]}", "MD5 has 32 digits, not 30"),
        (f"CRC (A.MOV) = {MD5}", "CRC is not a checksum that is known here"),
        (f"{MD5}  ../../etc/passwd", "'../../etc/passwd' leads out of the card"),
        (f"{MD5}  /etc/passwd", "'/etc/passwd' leads out of the card"),
        (f"{MD5}  C:\\clips\\A.MOV", "leads out of the card"),
        (f"{MD5}  CLIP\\..\\..\\A.MOV", "leads out of the card"),
        (f"{MD5}  ./", "names no file"),
        (f"{MD5}  A\0.MOV", "zero byte"),
    ],
)
def test_a_bad_line_is_named_and_the_others_are_read(make_card, line, words):
    folder = make_card({"B.MOV": b"abc", "MD5SUMS": f"{MD5}  B.MOV\n{line}\n".encode()})
    checksums = gather(folder)
    assert checksums.expected == {"B.MOV": {"md5": MD5}}
    assert [(each.severity, each.code, each.where) for each in checksums.findings] == [("stop", "bad-list", "MD5SUMS")]
    assert words in checksums.findings[0].what and "line 2" in checksums.findings[0].what


def test_many_bad_lines_are_counted(make_card):
    folder = make_card({"B.MOV": b"abc", "MD5SUMS": b"x\n" * 1000})
    assert gather(folder).findings[0].what.endswith("line 3: 'x' is not a checksum and a path; and 997 more.")


def test_a_list_that_is_not_text_says_so(make_card):
    folder = make_card({"B.MOV": b"abc", "MD5SUMS": b"abc\nd\xff\xfe"})
    assert "line 2: its letters are not UTF-8" in gather(folder).findings[0].what


def test_a_list_of_nothing_says_so(make_card):
    assert "it lists no file of this card" in gather(make_card({"B.MOV": b"abc", "MD5SUMS": b""})).findings[0].what


def test_lists_of_several_kinds_merge(make_card):
    sha1 = hash_bytes(b"abc", "sha1")
    folder = make_card({"A.MOV": b"abc", "a.md5": f"{MD5}  A.MOV".encode(), "a.sha1": f"{sha1}  A.MOV".encode()})
    assert gather(folder).expected == {"A.MOV": {"md5": MD5, "sha1": sha1}}


def test_lists_that_contradict_each_other_stop(make_card):
    other = hash_bytes(b"other", "md5")
    folder = make_card({"A.MOV": b"abc", "a.md5": f"{MD5}  A.MOV".encode(), "b.md5": f"{other}  A.MOV".encode()})
    findings = gather(folder).findings
    assert [(each.severity, each.code, each.where) for each in findings] == [("stop", "lists-disagree", "A.MOV")]
    assert "two different md5 checksums, in a.md5 and in b.md5" in findings[0].what


def test_a_list_that_is_a_link_is_not_read(make_card, tmp_path):
    folder = make_card({"A.MOV": b"abc"})
    (tmp_path / "real").write_text(f"{MD5}  KB04-261112-A03/A.MOV\n")
    (folder / "MD5SUMS").symlink_to(tmp_path / "real")
    (folder.parent / "MD5SUMS").symlink_to(tmp_path / "real")
    assert gather(folder).expected == {}


def test_names_are_unescaped_only_where_the_line_says_so():
    entries, _ = parse_list(rf"{MD5}  a\nb".encode() + b"\n" + rf"\{MD5}  a\nb\\n".encode(), "x.md5")
    assert entries == [Entry("a\\nb", "md5", MD5), Entry("a\nb\\n", "md5", MD5)]


PIECES = [f"{MD5}  ", f"\\{MD5} *", "MD5 (", ") = ", MD5, "../", "\\", "\n", "\r\n", "\0", "a/b", "\ufeff"]
LISTS = st.lists(st.sampled_from(PIECES) | st.text(max_size=5), max_size=20).map(lambda parts: "".join(parts).encode())


@given(st.binary(max_size=300) | LISTS, st.sampled_from(["a.md5", "a.xxh", "SHA1SUMS", "a.sfv", ""]))
def test_any_bytes_are_entries_or_problems(data, name):
    entries, problems = parse_list(data, name)
    for entry in entries:
        assert entry.path and ".." not in entry.path.split("/") and not entry.path.startswith("/")
    assert all(problem.startswith("line ") for problem in problems)
