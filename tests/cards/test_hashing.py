"""Hashing. Known values: the digests of "abc" (FIPS 180-4 examples, RFC 1321 test suite) and of the xxHash and C4
reference programs; coreutils is asked as well."""

import os
import random
import subprocess
import threading

import pytest

from review.cards import hashing
from review.cards.hashing import HASHERS, hash_bytes, hash_files

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


def test_progress_tells_every_byte_once_in_the_calling_thread(make_card, monkeypatch):
    monkeypatch.setattr(hashing, "BUFFER_BYTES", 1000)
    folder = make_card({"A.MOV": bytes(2500), "B.MOV": bytes(700)})
    told = []
    hash_files(folder, dict.fromkeys(["A.MOV", "B.MOV"], HASHERS), lambda n: told.append((n, threading.get_ident())))
    assert sorted(count for count, _ in told) == [500, 700, 1000, 1000]
    assert {thread for _, thread in told} == {threading.get_ident()}


def test_what_progress_raises_ends_the_work(make_card):
    class Cancelled(Exception):
        pass

    def cancel(count):
        raise Cancelled

    folder = make_card({f"{number}.MOV": b"abc" for number in range(50)})
    with pytest.raises(Cancelled):
        hash_files(folder, {f"{number}.MOV": {"md5"} for number in range(50)}, cancel)


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
    with pytest.raises(KeyError, match="crc32"):
        hash_files(make_card({"A.MOV": b"abc"}), {"A.MOV": {"crc32"}})
