"""Checking a card against the floor: the same bytes read and hashed by two bare threads.

python -m tests.bench.bench_checking [megabytes]
"""

import os
import sys
import tempfile
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from statistics import median

import xxhash

from review.cards.hashing import OWN_ALGORITHM, hash_files

ROUNDS = 5
FILES = 8


def bare(path: Path) -> None:
    buffer = memoryview(bytearray(4 << 20))
    digest = xxhash.xxh3_128()
    with open(path, "rb", buffering=0) as file:
        while count := file.readinto(buffer):
            digest.update(buffer[:count])


def floor(folder: Path) -> None:
    with ThreadPoolExecutor(2) as pool:
        list(pool.map(bare, sorted(folder.iterdir())))


def ours(folder: Path) -> None:
    hash_files(folder, {path.name: {OWN_ALGORITHM} for path in folder.iterdir()})


def seconds(work, folder: Path) -> float:
    start = time.perf_counter()
    work(folder)
    return time.perf_counter() - start


def main() -> None:
    megabytes = int(sys.argv[1]) if len(sys.argv) > 1 else 1024
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for number in range(FILES):
            with open(folder / f"{number}.MTS", "wb") as file:
                for _ in range(megabytes // FILES):
                    file.write(os.urandom(1 << 20))
        floor(folder)  # warm the cache
        pairs = [(seconds(floor, folder), seconds(ours, folder)) for _ in range(ROUNDS)]
    bare_time, our_time = median(a for a, _ in pairs), median(b for _, b in pairs)
    print(f"{megabytes} MB in {FILES} files, cached, {ROUNDS} rounds interleaved, medians")
    print(f"  bare read and xxh128, two threads  {megabytes / bare_time / 1000:6.2f} GB/s")
    print(f"  hash_files                         {megabytes / our_time / 1000:6.2f} GB/s")
    print(f"  speed over the floor               {bare_time / our_time:6.2f}")


if __name__ == "__main__":
    main()
