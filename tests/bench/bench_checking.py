"""Checking a card against the floor (the same bytes read and hashed by two bare threads) and against the reference
tool of ASC MHL on the same files, cached.

python -m tests.bench.bench_checking big            4 files of 2 GB
python -m tests.bench.bench_checking small          40,000 files of 25 kB
python -m tests.bench.bench_checking transport      2 transport streams of 250 MB, whose packets are counted too
python -m tests.bench.bench_checking big 4 100      4 files of 100 MB: any number, any size in MB
"""

import os
import shutil
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from statistics import median

import xxhash

from review.cards.checking import check_card
from review.cards.hashing import OWN_ALGORITHM, hash_files
from review.media.ffmpeg import ffmpeg_binary
from review.media.probe import probe

ROUNDS = 5
ASCMHL = Path(__file__).parents[2] / ".venv-oracles" / "bin" / "ascmhl"
KINDS = {"big": (4, 2000), "small": (40_000, 0.025), "transport": (2, 250)}  # files, MB each

_own = threading.local()


def bare(path: str) -> None:
    if not hasattr(_own, "buffer"):
        _own.buffer = memoryview(bytearray(4 << 20))
    digest = xxhash.xxh3_128()
    with open(path, "rb", buffering=0) as file:
        while count := file.readinto(_own.buffer):
            digest.update(_own.buffer[:count])


def floor(paths: list[str]) -> None:
    with ThreadPoolExecutor(2) as pool:
        list(pool.map(bare, paths))


def reference(folder: Path) -> None:
    shutil.rmtree(folder / "ascmhl", ignore_errors=True)
    nowhere = "http://127.0.0.1:9"  # it asks for updates of itself
    environment = os.environ | {"https_proxy": nowhere, "HTTPS_PROXY": nowhere}
    subprocess.run([ASCMHL, "create", "-h", OWN_ALGORITHM, folder], env=environment, check=True, capture_output=True)
    shutil.rmtree(folder / "ascmhl")


def seconds(work: Callable, *arguments) -> float:
    start = time.perf_counter()
    work(*arguments)
    return time.perf_counter() - start


def fill(folder: Path, kind: str, files: int, megabytes: float) -> None:
    if kind == "transport":
        return film(folder, files, megabytes)
    size = int(megabytes * 1_000_000)
    noise = os.urandom(min(size, 64_000_000))
    for number in range(files):
        place = folder / f"{number // 1000:03}"
        place.mkdir(exist_ok=True)
        with open(place / f"{number:06}.BIN", "wb") as file:
            file.write(number.to_bytes(8, "big"))
            for at in range(8, size, len(noise)):
                file.write(noise[: min(len(noise), size - at)])
    return None


def film(folder: Path, files: int, megabytes: float) -> None:
    """Transport streams at a camera's data rate, made from noise so that they are not small."""
    pieces = ["-f", "lavfi", "-i", "nullsrc=s=640x360:r=25,geq=random(1)*255:128:128", "-t", "2"]
    coded = [
        "-c:v",
        "libx264",
        "-preset",
        "ultrafast",
        "-b:v",
        "50M",
        "-bufsize",
        "50M",
        "-muxrate",
        "0",
        "-f",
        "mpegts",
    ]
    one = folder.parent / "one.ts"
    subprocess.run([ffmpeg_binary(), "-loglevel", "error", "-y", *pieces, *coded, one], check=True)
    m2ts = ["-f", "mpegts", "-mpegts_m2ts_mode", "1"]
    again = max(1, int(megabytes * 1_000_000 / one.stat().st_size)) - 1
    for number in range(files):
        copied = ["-stream_loop", str(again), "-i", one, "-c", "copy", *m2ts, folder / f"{number:05}.MTS"]
        subprocess.run([ffmpeg_binary(), "-loglevel", "error", "-y", *copied], check=True)


def storage_reads(work: Callable[[], object], paths: list[str]) -> int:
    """The bytes that `work` has the storage read, the files being in no cache at first."""

    def so_far() -> int:
        counts = dict(line.split(": ") for line in Path("/proc/self/io").read_text().splitlines())
        return int(counts["read_bytes"])  # ours, and those of the children that have ended

    for path in paths:
        with open(path, "rb") as file:
            os.fsync(file.fileno())
            os.posix_fadvise(file.fileno(), 0, 0, os.POSIX_FADV_DONTNEED)
    before = so_far()
    work()
    return so_far() - before


def main() -> None:
    kind = sys.argv[1] if len(sys.argv) > 1 else "big"
    files, megabytes = KINDS[kind]
    if len(sys.argv) > 3:
        files, megabytes = int(sys.argv[2]), float(sys.argv[3])
    look = probe if kind == "transport" else (lambda path: path)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name) / "KB04-261112-A03"
        folder.mkdir()
        fill(folder, kind, files, megabytes)
        paths = sorted(str(path) for path in folder.rglob("*") if path.is_file())
        total = sum(os.path.getsize(path) for path in paths)
        wanted = {os.path.relpath(path, folder): (OWN_ALGORITHM,) for path in paths}
        works: dict[str, Callable[[], object]] = {
            "bare read and xxh128, two threads": lambda: floor(paths),
            "hash_files": lambda: hash_files(folder, wanted),
            "check_card, whole": lambda: check_card(folder, production="KB04", probe=look),
            "ascmhl create, its start included": lambda: reference(folder),
        }
        if kind == "transport":
            works["probes alone"] = lambda: [probe(Path(path)) for path in paths]
        floor(paths)  # warm the cache
        taken = {label: [] for label in works}
        for _ in range(ROUNDS):
            for label, work in works.items():
                taken[label].append(seconds(work))
        read = storage_reads(works["check_card, whole"], paths)
    print(f"{total / 1e9:.2f} GB in {files:,} files, cached, {ROUNDS} rounds interleaved, medians")
    least = median(taken["bare read and xxh128, two threads"])
    for label, times in taken.items():
        speed = f"{total / median(times) / 1e9:6.2f} GB/s"
        print(f"  {label:36} {median(times):7.2f} s  {speed}  {least / median(times):5.2f} of the floor")
    print(f"  the storage was read {read / total:.2f} times by a check of files that no cache held")


if __name__ == "__main__":
    main()
