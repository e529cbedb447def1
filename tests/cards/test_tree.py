"""Reading a card's tree. What operating systems leave behind: common practice, no source."""

import os
import socket

import pytest

from review.cards.tree import CardUnreadable, read_tree


def paths(tree):
    return [file.path for file in tree.files]


def test_it_works(make_card):
    folder = make_card({"CLIP/B.MOV": b"12345", "CLIP/A.MOV": b"1", "EMPTY/DEEP/": b""})
    os.utime(folder / "CLIP/A.MOV", (100, 100))
    os.utime(folder / "CLIP/B.MOV", (200, 200))
    tree = read_tree(folder)
    assert [(file.path, file.size, file.modified) for file in tree.files] == [
        ("CLIP/A.MOV", 1, 100.0),
        ("CLIP/B.MOV", 5, 200.0),
    ]
    assert tree.folders == ("CLIP", "EMPTY", "EMPTY/DEEP")
    assert (tree.total_bytes, tree.newest, tree.findings) == (6, 200.0, ())


def test_nothing_is_written(make_card):
    folder = make_card({"CLIP/A.MOV": b"1"})
    before = [(path, path.stat()) for path in sorted(folder.rglob("*"))]
    read_tree(folder)
    after = [(path, path.stat()) for path in sorted(folder.rglob("*"))]
    assert [(path, stat.st_mtime_ns, stat.st_ctime_ns) for path, stat in before] == [
        (path, stat.st_mtime_ns, stat.st_ctime_ns) for path, stat in after
    ]


ODD_NAMES = ["two\nlines", "\"quoted' name", "é", "e\u0301", "x" * 251, "back\\slash", " "]


@pytest.mark.parametrize("name", [f"{name}.MOV" for name in ODD_NAMES])
def test_odd_names_are_kept_as_they_are(make_card, name):
    assert paths(read_tree(make_card({f"CLIP/{name}": b"1"}))) == [f"CLIP/{name}"]


def test_what_operating_systems_leave_behind_and_histories_are_no_files_of_the_card(make_card):
    litter = [".DS_Store", "CLIP/._A.MOV", ".Spotlight-V100/x", ".Trashes/x", ".fseventsd/x"]
    litter += ["System Volume Information/x", "CLIP/thumbs.DB", "ascmhl/ascmhl_chain.xml", "CLIP/ascmhl/0001.mhl"]
    tree = read_tree(make_card({"CLIP/A.MOV": b"1"} | dict.fromkeys(litter, b"x")))
    assert (paths(tree), tree.folders, tree.findings) == (["CLIP/A.MOV"], ("CLIP",), ())


def test_links_stop_and_are_not_followed(make_card, tmp_path, codes):
    folder = make_card({"A.MOV": b"1"})
    (tmp_path / "elsewhere").mkdir()
    (tmp_path / "elsewhere" / "B.MOV").write_bytes(b"2")
    (folder / "CLIP").symlink_to(tmp_path / "elsewhere")
    (folder / "C.MOV").symlink_to(tmp_path / "elsewhere" / "B.MOV")
    (folder / "D.MOV").symlink_to("nowhere")
    (folder / "ascmhl").symlink_to(tmp_path / "elsewhere")
    tree = read_tree(folder)
    assert paths(tree) == ["A.MOV"]
    assert codes(tree.findings) == [("stop", "link", name) for name in ("C.MOV", "CLIP", "D.MOV", "ascmhl")]
    assert "C.MOV is a link to somewhere else" in tree.findings[0].what


def test_a_pipe_or_socket_stops(make_card, monkeypatch):
    folder = make_card({"A.MOV": b"1"})
    os.mkfifo(folder / "B.MOV")
    monkeypatch.chdir(folder)  # a socket's path must be short
    with socket.socket(socket.AF_UNIX) as pipe:
        pipe.bind("C.MOV")
        tree = read_tree(folder)
    assert paths(tree) == ["A.MOV"]
    assert [finding.where for finding in tree.findings] == ["B.MOV", "C.MOV"]
    assert "neither a file nor a folder" in tree.findings[0].what


def test_a_name_that_is_not_utf8_stops_and_is_shown_printable(make_card):
    folder = make_card({"A.MOV": b"1"})
    with open(os.fsencode(folder) + b"/caf\xe9.MOV", "wb"):
        pass
    tree = read_tree(folder)
    assert paths(tree) == ["A.MOV"]
    assert (tree.findings[0].code, tree.findings[0].where) == ("unreadable", "caf\\xe9.MOV")
    assert "not UTF-8" in tree.findings[0].what


def test_a_folder_that_cannot_be_read_stops(make_card, codes, monkeypatch):
    folder = make_card({"A.MOV": b"1", "CLIP/B.MOV": b"2"})
    scandir = os.scandir

    def refuse_clip(path):
        if str(path).endswith("CLIP"):
            raise PermissionError(13, "Permission denied")
        return scandir(path)

    monkeypatch.setattr(os, "scandir", refuse_clip)  # root may read everything, so permissions cannot be used
    tree = read_tree(folder)
    assert codes(tree.findings) == [("stop", "unreadable", "CLIP")]
    assert "could not be read (Permission denied)" in tree.findings[0].what


def test_a_folder_that_is_absent_no_folder_or_a_link_is_refused(make_card, tmp_path):
    folder = make_card({"A.MOV": b"1"})
    (tmp_path / "link").symlink_to(folder)
    for path, words in [
        (folder / "gone", "is not there"),
        (folder / "A.MOV", "is not a folder"),
        (tmp_path / "link", "is a link"),
        (folder / "A.MOV" / "x", "cannot be opened"),
    ]:
        with pytest.raises(CardUnreadable, match=words) as caught:
            read_tree(path)
        assert "\n" not in str(caught.value)


def test_the_fingerprint_stays_until_something_changes(make_card):
    def fingerprint():
        return read_tree(folder).fingerprint

    folder = make_card({"A.MOV": b"1", "CLIP/": b""})
    os.utime(folder / "A.MOV", (100, 100))
    seen = [fingerprint()]
    assert fingerprint() == seen[0]

    def changed():
        seen.append(fingerprint())
        return seen[-1] not in seen[:-1]

    os.utime(folder / "A.MOV", (101, 101))
    assert changed(), "written again"
    with open(folder / "A.MOV", "ab") as file:
        file.write(b"2")
    os.utime(folder / "A.MOV", (101, 101))
    assert changed(), "grew"
    (folder / "A.MOV").rename(folder / "B.MOV")
    assert changed(), "renamed"
    (folder / "CLIP").rmdir()
    assert changed(), "folder gone"
    (folder / "C.MOV").symlink_to("B.MOV")
    assert changed(), "link came"


def test_a_history_does_not_change_the_fingerprint(make_card):
    folder = make_card({"A.MOV": b"1"})
    before = read_tree(folder).fingerprint
    make_card({"ascmhl/0001.mhl": b"x"})
    assert read_tree(folder).fingerprint == before
