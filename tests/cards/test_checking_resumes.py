"""A check that was cut short goes on where it was, and one that is held to a rate is slow: the house's own rules."""

import threading
import time

import pytest

from review.cards import checking, hashing, looking
from review.cards.checking import ReadFile, check_card

FILES = {f"CLIP/{number:02}.MOV": bytes([number]) * 5000 for number in range(20)} | {"notes.txt": b"n"}


class Killed(Exception):
    pass


@pytest.fixture
def card(make_card, monkeypatch):
    monkeypatch.setattr(hashing, "_TELL_BYTES", 1)
    return make_card(FILES)


@pytest.fixture
def opened(monkeypatch):
    """The paths that were read, in order."""
    paths = []
    real = hashing._read_through
    monkeypatch.setattr(hashing, "_read_through", lambda path, *more: (paths.append(path), real(path, *more))[1])
    return paths


def check(folder, **more):
    return check_card(folder, production="KB04", probe=lambda path: f"probed {path.name}", **more)


def cut_short(folder, after, **more):
    """What a check has read when it is cut short after so many files."""
    kept = {}

    def read(path, file):
        kept[path] = file
        if len(kept) == after:
            raise Killed

    with pytest.raises(Killed):
        check(folder, read=read, **more)
    return kept


def test_it_reads_only_the_rest(card, opened):
    whole = check(card)
    kept = cut_short(card, 8)
    opened.clear()
    told = []
    report = check(card, already=kept, progress=lambda done, total: told.append((done, total)))
    assert sorted(opened) == sorted(str(card / path) for path in FILES.keys() - kept.keys())
    assert told[0] == (sum(file.size for file in kept.values()), report.total_bytes)
    assert told[-1] == (report.total_bytes, report.total_bytes)
    assert report == whole


def test_what_is_kept_says_what_was_read(card):
    kept = {}
    report = check(card, read=kept.__setitem__)
    assert kept == {file.path: ReadFile(file.size, file.modified, file.hashes) for file in report.files}


def test_a_check_cut_short_several_times_reads_everything_once(card, opened):
    kept = {}
    for _ in range(4):
        kept |= cut_short(card, 4, already=kept)
    report = check(card, already=kept)
    assert [file.hashes for file in report.files] == [file.hashes for file in check(card).files]
    assert len(kept) == 16


@pytest.mark.parametrize("change", ["size", "time", "algorithm"])
def test_a_file_that_is_not_as_it_was_is_read_again(card, opened, change):
    kept = {}
    check(card, read=kept.__setitem__)
    if change == "size":
        kept["notes.txt"] = kept["notes.txt"]._replace(size=2)
    elif change == "time":
        kept["notes.txt"] = kept["notes.txt"]._replace(modified=kept["notes.txt"].modified + 0.001)
    else:
        (card / "card.md5").write_text("7b8b965ad4bca0e41ab51de7b31363a1  notes.txt\n")
    opened.clear()
    report = check(card, already=kept)
    again = {path.removeprefix(f"{card}/") for path in opened} - {"card.md5"}
    assert again == {"notes.txt"}
    assert not [each for each in report.findings if each.code == "altered"]


def test_what_is_gone_since_is_not_counted(card):
    kept = {}
    check(card, read=kept.__setitem__)
    (card / "notes.txt").unlink()
    told = []
    report = check(card, already=kept, progress=lambda done, total: told.append((done, total)))
    assert told[0] == (report.total_bytes, report.total_bytes) and len(report.files) == 20


def test_a_clip_is_looked_at_soon_after_its_file_was_read(make_card, monkeypatch):
    """While its bytes are still at hand; a file that is hashed waits for those that are looked at."""
    monkeypatch.setattr(hashing, "_TELL_BYTES", 1)
    folder = make_card(FILES)
    read, looked_at, behind = [], [], []

    def probe(path):
        time.sleep(0.01)
        looked_at.append(path.name)
        behind.append(len(read) - len(looked_at))
        return path.name

    check_card(folder, production="KB04", probe=probe, read=lambda path, file: read.append(path))
    assert sorted(looked_at) == [f"{number:02}.MOV" for number in range(20)]
    assert max(behind) < 8


def test_what_progress_raises_while_a_clip_is_looked_at_ends_the_check(make_card, monkeypatch):
    monkeypatch.setattr(looking, "_IDLE_EVERY", 0.02)
    folder = make_card({"A.MOV": b"abc"})
    go_on, asked = threading.Event(), []

    def progress(done, total):
        asked.append(done)
        if len(asked) > 5:
            raise Killed

    with pytest.raises(Killed):
        check_card(folder, production="KB04", probe=lambda path: go_on.wait(10), progress=progress)
    go_on.set()


def test_clips_keep_their_order_and_those_that_cannot_be_read_are_there(card, monkeypatch):
    real = checking.hash_files

    def all_but_one(folder, wanted, *more, **options):
        hashes, _ = real(folder, {path: each for path, each in wanted.items() if "07" not in path}, *more, **options)
        return hashes, {"CLIP/07.MOV": "Input/output error"}

    monkeypatch.setattr(checking, "hash_files", all_but_one)
    report = check(card)
    assert [clip.plan.name for clip in report.clips] == [f"{number:02}" for number in range(20)]
    assert [clip.plan.name for clip in report.clips if not clip.probes] == ["07"]


def test_a_rate_is_held(card):
    start = time.monotonic()
    report = check(card, bytes_per_second=400_000)
    assert report.findings[0].code == "no-checksums"
    assert time.monotonic() - start > report.total_bytes / 400_000 - 0.11
