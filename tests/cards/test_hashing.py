"""Hashing. Known values: the digests of "abc" (FIPS 180-4 examples, RFC 1321 test suite) and of the xxHash and C4
reference programs; the check value that CRC catalogues give CRC-32; coreutils is asked as well."""

import hashlib
import os
import random
import subprocess
import threading
import time

import pytest

from review.cards import hashing
from review.cards.hashing import HASHERS, digest_bytes, hash_bytes, hash_files
from review.cards.pace import Pace

ABC = {
    "md5": "900150983cd24fb0d6963f7d28e17f72",
    "sha1": "a9993e364706816aba3e25717850c26c9cd0d89d",
    "sha256": "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad",
    "xxh64": "44bc2cf5ad770999",
    "xxh3": "78af5f94892f3950",
    "xxh128": "06b05ab6733a618578af5f94892f3950",
    "c4": "c45S4rnaTNWonxss1u8LzsaJdEph1AJhWUF4sh2waXKMsutyfAxg4ybUeuXVWS9HdNcEypmeXn8FZGonD4w1rj9DZp",
}


@pytest.mark.parametrize("algorithm", ABC)
def test_known_values(algorithm):
    assert hash_bytes(b"abc", algorithm) == ABC[algorithm]


def test_nothing_has_its_known_xxh64():
    assert hash_bytes(b"", "xxh64") == "ef46db3751d8e999"


def test_several_hashes_of_several_files(make_card):
    folder = make_card({"CLIP/A.MOV": b"abc", "B.MOV": b""})
    hashes, failures = hash_files(folder, {"CLIP/A.MOV": set(ABC), "B.MOV": {"xxh64"}})
    assert hashes == {"CLIP/A.MOV": ABC, "B.MOV": {"xxh64": "ef46db3751d8e999"}}
    assert failures == {}


def test_a_file_of_many_buffers_agrees_with_coreutils(make_card, monkeypatch):
    monkeypatch.setattr(hashing, "BUFFER_BYTES", 4096)
    data = random.Random(4).randbytes(100_001)
    folder = make_card({f"{number}.MOV": data[number:] for number in range(8)})
    hashes, _ = hash_files(folder, {f"{number}.MOV": {"sha256", "md5"} for number in range(8)})
    for program, algorithm in (("sha256sum", "sha256"), ("md5sum", "md5")):
        listed = subprocess.run([program, *sorted(hashes)], cwd=folder, capture_output=True, text=True, check=True)
        assert listed.stdout == "".join(f"{hashes[name][algorithm]}  {name}\n" for name in sorted(hashes))


def test_the_check_value_of_crc32():
    assert hash_bytes(b"123456789", "crc32") == "cbf43926"


@pytest.mark.parametrize("algorithm", ABC)
def test_a_digest_stands_for_the_bytes_that_it_was_made_of(algorithm):
    raw = digest_bytes(ABC[algorithm], algorithm)
    assert raw == (hashlib.sha512(b"abc").digest() if algorithm == "c4" else bytes.fromhex(ABC[algorithm]))
    with pytest.raises(ValueError):
        digest_bytes("no digest: 0OIl", algorithm)


def test_progress_and_done_tell_everything_once_in_the_calling_thread(make_card, monkeypatch):
    monkeypatch.setattr(hashing, "BUFFER_BYTES", 1000)
    monkeypatch.setattr(hashing, "_TELL_BYTES", 1000)
    folder = make_card({"A.MOV": bytes(2500), "B.MOV": bytes(700), "C.MOV": b""})
    told, done, threads = [], [], set()

    def progress(count):
        told.append(count)
        threads.add(threading.get_ident())

    def read(path, hashes):
        done.append((path, hashes))
        threads.add(threading.get_ident())

    hashes, _ = hash_files(folder, dict.fromkeys(["A.MOV", "B.MOV", "C.MOV"], HASHERS), progress, done=read)
    assert sum(told) == 3200 and len(told) > 1
    assert sorted(done) == sorted(hashes.items())
    assert threads == {threading.get_ident()}


@pytest.mark.parametrize("way", ["progress", "done"])
def test_what_the_caller_raises_ends_the_work(make_card, way):
    class Cancelled(Exception):
        pass

    def cancel(*_):
        raise Cancelled

    folder = make_card({f"{number}.MOV": b"abc" for number in range(50)})
    before = threading.active_count()
    with pytest.raises(Cancelled):
        hash_files(folder, {f"{number}.MOV": {"md5"} for number in range(50)}, **{way: cancel})
    assert threading.active_count() == before


def test_a_caller_that_is_slow_is_waited_for(make_card, monkeypatch):
    """Reading does not run ahead of whoever looks at each file next."""
    monkeypatch.setattr(hashing, "_TELL_BYTES", 1)
    folder = make_card({f"{number:03}.MOV": b"abc" for number in range(200)})
    opened = []
    real = hashing._read_through
    monkeypatch.setattr(hashing, "_read_through", lambda path, *more: (opened.append(path), real(path, *more))[1])
    ahead = []

    def look(path, hashes):
        if not ahead:
            time.sleep(0.3)
        ahead.append(len(opened) - len(ahead))

    hash_files(folder, {path.name: {"md5"} for path in folder.iterdir()}, done=look)
    assert len(ahead) == 200 and max(ahead) < 50


def test_the_biggest_files_are_begun_first(make_card):
    folder = make_card({"A.MOV": b"abc", "B.MOV": bytes(9000), "C.MOV": bytes(50), "D.MOV": b"abc"})
    sizes = {path.name: path.stat().st_size for path in folder.iterdir()}
    done = []
    hash_files(
        folder, {path: {"md5"} for path in sorted(sizes)}, threads=1, sizes=sizes, done=lambda *a: done.append(a)
    )
    assert [path for path, _ in done] == ["B.MOV", "C.MOV", "A.MOV", "D.MOV"]


# A rate ----------------------------------------------------------------------------------------


def test_a_rate_is_held_over_all_that_was_read():
    now = 100.0
    pace = Pace(1000, clock=lambda: now)
    waited = 0.0
    for _ in range(50):  # each read itself takes 0.05 s
        now += 0.05
        owed = pace.owed(200)
        now, waited = now + owed, waited + owed
    assert now - 100 == pytest.approx(50 * 200 / 1000, rel=0.02)
    assert 0 < waited < now - 100


def test_a_pause_is_not_made_up_for_at_full_speed():
    now = 0.0
    pace = Pace(1000, clock=lambda: now)
    now = 60.0
    assert pace.owed(1000) == pytest.approx(0.9)


def test_files_are_read_at_the_rate_that_was_asked_for(make_card):
    folder = make_card({f"{number}.MOV": bytes(100_000) for number in range(6)})
    start = time.monotonic()
    hashes, _ = hash_files(folder, {f"{n}.MOV": {"xxh128"} for n in range(6)}, bytes_per_second=1_500_000)
    assert len(hashes) == 6
    assert 0.29 < time.monotonic() - start < 3  # 600,000 bytes less what a tenth of a second forgives


# What cannot be read ---------------------------------------------------------------------------


def test_links_absent_files_folders_and_pipes_fail_with_a_reason(make_card):
    folder = make_card({"A.MOV": b"abc", "CLIP/": b""})
    (folder / "LINK.MOV").symlink_to("A.MOV")
    os.mkfifo(folder / "PIPE.MOV")
    wanted = {path: {"md5"} for path in ("A.MOV", "LINK.MOV", "PIPE.MOV", "GONE.MOV", "CLIP")}
    hashes, failures = hash_files(folder, wanted)
    assert hashes == {"A.MOV": {"md5": ABC["md5"]}}
    assert failures["GONE.MOV"] == "No such file or directory"
    assert failures["PIPE.MOV"] == "it is not a file"
    assert failures["CLIP"] == "Is a directory"
    assert "LINK.MOV" in failures


def test_an_unknown_algorithm_is_an_error_not_a_silence(make_card):
    with pytest.raises(KeyError, match="crc64"):
        hash_files(make_card({"A.MOV": b"abc"}), {"A.MOV": {"crc64"}})
