"""Reading ASC MHL histories. Outside sources: the format's reference tool (ascmhl 1.2), which writes the histories
read here; the specification v1.0 (sections named) for what the tool does not do."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from review.cards.hashing import hash_bytes, hash_files
from review.cards.manifests import gather_checksums
from review.cards.manifests.ascmhl_writer import write_generation
from review.cards.manifests.ascmhl_xml import OldFormat, parse_chain, parse_manifest
from review.cards.tree import read_tree

FILES = {"CLIP/A.MOV": b"abc", "CLIP/é & b.MOV": b"b", "Reels/R1/C.MOV": b"c", "notes.txt": b"n", "EMPTY/": b""}


def gather(folder):
    return gather_checksums(read_tree(folder))


def digests(algorithm, **replaced):
    return {
        path: {algorithm: hash_bytes(data, algorithm)} for path, data in (FILES | replaced).items() if path[-1] != "/"
    }


@pytest.fixture
def card(make_card, ascmhl_tool):
    """A card with a first generation, in xxh64."""
    folder = make_card(FILES)
    assert ascmhl_tool("create", "-h", "xxh64", folder).returncode == 0
    return folder


def manifest(folder, number):
    (path,) = folder.glob(f"ascmhl/{number:04}_*.mhl")
    return path


# Reading ---------------------------------------------------------------------------------------


def test_it_works(card):
    checksums = gather(card)
    assert checksums.findings == []
    assert checksums.sources == [f"ascmhl/{manifest(card, 1).name}"]
    assert checksums.expected == digests("xxh64")
    assert checksums.sizes["CLIP/A.MOV"] == 3


@pytest.mark.parametrize("algorithm", ["c4", "sha1", "xxh3"])  # the others are met below
def test_the_hashes_of_the_format(make_card, ascmhl_tool, algorithm):
    folder = make_card(FILES)
    ascmhl_tool("create", "-h", algorithm, folder)
    assert gather(folder).expected == digests(algorithm)


def test_a_second_generation_adds_files_and_hashes(card, ascmhl_tool):
    (card / "new.txt").write_bytes(b"new")
    ascmhl_tool("create", "-h", "md5", card)
    checksums = gather(card)
    assert checksums.findings == []
    assert len(checksums.sources) == 2
    assert checksums.expected["CLIP/A.MOV"] == {name: hash_bytes(b"abc", name) for name in ("xxh64", "md5")}
    assert checksums.expected["new.txt"].keys() == {"md5"}


def test_a_hash_that_failed_is_never_compared_with(card, ascmhl_tool):
    (card / "CLIP/A.MOV").write_bytes(b"abd")
    assert ascmhl_tool("create", "-h", "xxh64", card).returncode != 0
    assert 'action="failed"' in manifest(card, 2).read_text()
    assert gather(card).expected == digests("xxh64")
    assert gather(card).findings == []


def test_a_renamed_file_keeps_its_original_hash(card, ascmhl_tool):
    (card / "CLIP/A.MOV").rename(card / "CLIP/Z.MOV")
    assert "renamed file" in ascmhl_tool("create", "-h", "xxh64", "-dr", card).stdout
    expected = gather(card).expected
    assert expected["CLIP/Z.MOV"] == {"xxh64": hash_bytes(b"abc", "xxh64")}
    assert "CLIP/A.MOV" not in expected


def test_a_lost_file_is_still_expected_and_a_lost_empty_folder_is_told(card):
    (card / "CLIP/A.MOV").unlink()
    (card / "EMPTY").rmdir()
    checksums = gather(card)
    assert "CLIP/A.MOV" in checksums.expected
    assert [(each.severity, each.code, each.where) for each in checksums.findings] == [("caution", "missing", "EMPTY")]


def test_ignored_files_are_known_and_not_expected(make_card, ascmhl_tool):
    folder = make_card(FILES | {"CLIP/A.tmp": b"t", "cache/x": b"x", "Reels/R1/cache/y": b"y"})
    ascmhl_tool("create", "-h", "xxh64", "-i", "*.tmp", "-i", "cache/", folder)
    checksums = gather(folder)
    assert checksums.ignored == {"CLIP/A.tmp", "cache/x", "Reels/R1/cache/y"}
    assert checksums.expected == digests("xxh64")


def test_a_pattern_that_begins_with_a_slash_counts_from_the_historys_root(make_card):
    folder = make_card({"tmp/x": b"x", "CLIP/tmp/y": b"y", "A.MOV": b"a"})
    hashes, _ = hash_files(folder, {"A.MOV": {"md5"}})
    path = write_generation(folder, hashes, {"A.MOV": 1}, tool_version="1")
    rewrite(folder, path, "<pattern>._*</pattern>", "<pattern>/tmp</pattern>")
    assert gather(folder).ignored == {"tmp/x"}


def test_the_tool_matches_such_a_pattern_with_the_whole_path_and_is_wrong(make_card, ascmhl_tool):
    """Specification 5.6.1.2 and appendix C: patterns are those of a .gitignore file, relative to the scope. The tool
    (1.2) ignores a card for the folder that it lies in, and does not see that a file was added."""
    folder = make_card({"A.MOV": b"a"})
    above = f"/{folder.parts[1]}"
    assert ascmhl_tool("create", "-h", "md5", "-i", above, folder).returncode == 0
    (folder / "B.MOV").write_bytes(b"b")
    assert ascmhl_tool("diff", folder).returncode == 0  # wrong: there is a new file
    checksums = gather(folder)
    assert checksums.ignored == set() and checksums.expected.keys() == {"A.MOV"}


def test_the_tool_ends_at_a_link_to_a_folder_and_a_check_tells_it(card, ascmhl_tool):
    (card / "CLIP/LINK").symlink_to(card / "Reels")
    assert "KeyError" in ascmhl_tool("create", "-h", "xxh64", card).stderr
    assert [(each.code, each.where) for each in read_tree(card).findings] == [("link", "CLIP/LINK")]
    assert gather(card).findings == [] and gather(card).expected == digests("xxh64")


def test_what_an_earlier_generation_listed_may_be_ignored_later(card, ascmhl_tool):
    ascmhl_tool("create", "-h", "xxh64", "-i", "notes.txt", card)
    checksums = gather(card)
    assert "notes.txt" not in checksums.expected and checksums.ignored == {"notes.txt"}


def rename_folder(folder, manifest_path, old, new):
    """Write a manifest again as a tool does that records the renaming of a folder by its own entry alone."""
    (folder / old).rename(folder / new)
    text = manifest_path.read_text().replace(f">{old}/", f">{new}/")
    c4 = hash_bytes(manifest_path.read_bytes(), "c4")
    text = re.sub(
        rf"(<directoryhash>\s*<path[^>]*>){old}(</path>.*?</structure>)",
        rf"\1{new}\2<previousPath>{old}</previousPath>",
        text,
        flags=re.DOTALL,
    )
    assert "previousPath" in text
    manifest_path.write_text(text)
    chain = folder / "ascmhl/ascmhl_chain.xml"
    chain.write_text(chain.read_text().replace(c4, hash_bytes(manifest_path.read_bytes(), "c4")))


def test_the_files_of_a_renamed_folder_keep_their_hashes(card, ascmhl_tool):
    """Specification 5.3.3 and 6.5.2: records are located through previousPath, which a folder has for itself."""
    ascmhl_tool("create", "-h", "md5", card)
    rename_folder(card, manifest(card, 2), "CLIP", "CLIPS")
    expected = gather(card).expected
    assert "CLIP/A.MOV" not in expected
    assert expected["CLIPS/A.MOV"] == {name: hash_bytes(b"abc", name) for name in ("xxh64", "md5")}


def test_a_renaming_is_recorded_once_and_holds_in_later_generations(card, ascmhl_tool):
    """Specification 5.6.6."""
    (card / "CLIP/A.MOV").rename(card / "CLIP/Z.MOV")
    ascmhl_tool("create", "-h", "xxh64", "-dr", card)
    ascmhl_tool("create", "-h", "xxh64", card)
    assert "previousPath" not in manifest(card, 3).read_text()
    checksums = gather(card)
    assert checksums.expected.keys() == digests("xxh64").keys() - {"CLIP/A.MOV"} | {"CLIP/Z.MOV"}
    assert checksums.findings == []


def test_what_operating_systems_leave_is_not_expected(make_card, ascmhl_tool):
    """The tool lists everything but .DS_Store; a copy without such litter is whole all the same."""
    folder = make_card(FILES | {"CLIP/._A.MOV": b"resource", "Thumbs.db": b"t"})
    ascmhl_tool("create", "-h", "xxh64", folder)
    (folder / "Thumbs.db").unlink()
    checksums = gather(folder)
    assert checksums.expected == digests("xxh64")
    assert sorted((each.severity, each.code, each.where) for each in checksums.findings) == [
        ("note", "litter", "CLIP/._A.MOV"),
        ("note", "litter", "Thumbs.db"),
    ]


def test_nested_histories(make_card, ascmhl_tool):
    folder = make_card(FILES)
    ascmhl_tool("create", "-h", "md5", folder / "Reels/R1")
    ascmhl_tool("create", "-h", "xxh64", folder)
    checksums = gather(folder)
    assert checksums.findings == []
    assert len(checksums.sources) == 3  # the tool writes a second generation in the nested one
    assert checksums.expected["Reels/R1/C.MOV"]["md5"] == hash_bytes(b"c", "md5")
    assert checksums.expected["CLIP/A.MOV"] == {"xxh64": hash_bytes(b"abc", "xxh64")}


def test_a_nested_history_put_in_another_ones_place_stops(make_card, ascmhl_tool):
    folder = make_card(FILES)
    ascmhl_tool("create", "-h", "md5", folder / "Reels/R1")
    ascmhl_tool("create", "-h", "md5", folder)
    (nested,) = (folder / "Reels/R1/ascmhl").glob("0002*.mhl")
    rewrite(folder / "Reels/R1", nested, hash_bytes(b"c", "md5"), hash_bytes(b"forged", "md5"))
    altered = [each for each in gather(folder).findings if each.code == "manifest-altered"]
    assert [each.where for each in altered] == [f"Reels/R1/ascmhl/{nested.name}"]
    assert "was altered after ascmhl/0001" in altered[0].what


def rewrite(root, path, old, new):
    """Change a manifest and its chain with it."""
    c4 = hash_bytes(path.read_bytes(), "c4")
    assert old in path.read_text()
    path.write_text(path.read_text().replace(old, new))
    chain = root / "ascmhl/ascmhl_chain.xml"
    chain.write_text(chain.read_text().replace(c4, hash_bytes(path.read_bytes(), "c4")))


def test_an_altered_manifest_stops_and_is_not_used(card, ascmhl_tool):
    path = manifest(card, 1)
    path.write_text(path.read_text().replace(hash_bytes(b"abc", "xxh64"), hash_bytes(b"forged", "xxh64")))
    assert ascmhl_tool.debug("verify", card).returncode == 31  # the tool's code for it
    checksums = gather(card)
    assert checksums.expected == {}
    assert [(each.severity, each.code) for each in checksums.findings] == [("stop", "manifest-altered")]
    assert "was altered after the chain recorded it" in checksums.findings[0].what


def test_a_manifest_that_is_gone_stops(card, ascmhl_tool):
    ascmhl_tool("create", "-h", "xxh64", card)
    manifest(card, 1).unlink()
    findings = gather(card).findings
    assert [each.code for each in findings] == ["manifest-altered"]
    assert "is missing, though the chain names it" in findings[0].what


def test_a_chain_that_is_gone_stops(card):
    (card / "ascmhl/ascmhl_chain.xml").unlink()
    checksums = gather(card)
    assert (checksums.expected, [each.code for each in checksums.findings]) == ({}, ["manifest-altered"])
    assert "ascmhl/ascmhl_chain.xml is missing" in checksums.findings[0].what


def test_a_chain_with_a_gap_stops(card):
    chain = card / "ascmhl/ascmhl_chain.xml"
    chain.write_text(chain.read_text().replace('sequencenr="1"', 'sequencenr="2"'))
    assert "without a gap" in gather(card).findings[0].what


def test_a_chain_that_leads_out_of_the_history_is_not_followed(card):
    chain = card / "ascmhl/ascmhl_chain.xml"
    chain.write_text(re.sub("<path>.*</path>", "<path>../../../x.mhl</path>", chain.read_text()))
    assert "leads out of the card" in gather(card).findings[0].what


@pytest.mark.parametrize("place", ["ascmhl/0009_added.mhl", "KB04-261112-A03.mhl", "../KB04-261112-A03.mhl"])
def test_a_manifest_that_no_chain_names_is_told(card, place):
    (card / place).write_bytes(manifest(card, 1).read_bytes())
    findings = gather(card).findings
    assert [(each.severity, each.code, each.where) for each in findings] == [("caution", "mhl-not-used", place)]
    assert "no chain vouches for it" in findings[0].what


def test_outside_entities_are_refused(make_card, tmp_path):
    (tmp_path / "secret").write_text("secret")
    attack = f'<!DOCTYPE x [<!ENTITY e SYSTEM "file://{tmp_path}/secret">]><x>&e;</x>'.encode()
    findings = gather(make_card({"A.MOV": b"abc", "ascmhl/ascmhl_chain.xml": attack})).findings
    assert [each.code for each in findings] == ["manifest-altered"]


HEAD = '<hashlist version="2.0" xmlns="urn:ASC:MHL:v2.0">'
PIECES = [HEAD, "</hashlist>", "<hashes>", "</hashes>", "<hash>", "</hash>", '<path size="x">', "<path>", "a/b", "../a"]
PIECES += ["</path>", "<md5>", "</md5>", "<previousPath>", "</previousPath>", "<directoryhash>", "\0", "&#0;"]
XML = st.lists(st.sampled_from(PIECES) | st.text(max_size=3), max_size=20).map(lambda parts: HEAD + "".join(parts))
WHOLE = st.lists(st.text(max_size=9), max_size=4).map(
    lambda paths: f"{HEAD}<hashes>{''.join(f'<hash><path>{path}</path></hash>' for path in paths)}</hashes></hashlist>"
)


@given(st.binary(max_size=200) | (XML | WHOLE).map(str.encode))
def test_any_bytes_are_a_manifest_or_a_refusal(data):
    for parse in (parse_manifest, parse_chain):
        try:
            parse(data)
        except ValueError as problem:
            assert str(problem)


def test_a_file_of_version_1_is_its_own_refusal():
    with pytest.raises(OldFormat):
        parse_manifest(b'<hashlist version="1.1"></hashlist>')
