"""Makes the demo's camera cards: whole folders of synthetic footage, with the checksums and the faults of the scenario.

A card is made in another folder and moved when it is whole, so an interrupted run is taken up where it stopped and a
finished one costs nothing.
"""

import os
import shutil
import tempfile
import threading
import time
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor, as_completed
from datetime import UTC, datetime
from multiprocessing import get_context
from pathlib import Path
from xml.etree import ElementTree as ET

import av

from review.cards.hashing import hash_files
from review.cards.manifests.ascmhl_writer import write_generation
from review.cards.tree import HISTORY_FOLDER, HISTORY_PART
from review.demo import avchd_card, footage
from review.demo.scenario import CARDS, Card, Clip

_MAKING = ".making"  # where cards are until they are whole
_AT_ONCE = 2  # clips; each keeps one process and one ffmpeg busy
_EXTENSIONS = {"mov": "MOV", "mp4": "MP4", "sound": "WAV"}


def make_cards(folder: Path, progress: Callable[[float, str], None]) -> None:
    """Make every card of the scenario that is not yet in `folder`.

    `progress` gets how much is done, 0 to 1, and a few words. Raises OSError or RuntimeError when a file cannot be
    written; what was made until then is kept and used by the next call.
    """
    missing = [card for card in CARDS if not (folder / card.folder).is_dir()]
    if not missing:
        progress(1.0, "All cards are there")
        return
    left = {card.name: len(card.clips) for card in missing}
    # Long clips first, so that both processors are busy to the end.
    work = sorted(((card, clip) for card in missing for clip in card.clips), key=_cost, reverse=True)
    total, done = sum(map(_cost, work)), 0.0
    pool = ProcessPoolExecutor(_AT_ONCE, get_context("spawn"), initializer=_end_with, initargs=(os.getpid(),))
    with pool:
        started = {pool.submit(_write_clip, folder / _MAKING, card, clip): (card, clip) for card, clip in work}
        try:
            for future in as_completed(started):
                future.result()
                card, clip = started[future]
                done += _cost((card, clip))
                left[card.name] -= 1
                progress(done / total, f"{card.folder}: {clip.name}")
                if not left[card.name]:
                    _finish(folder, card)
        finally:
            pool.shutdown(cancel_futures=True)
    shutil.rmtree(folder / _MAKING)


def _end_with(parent: int) -> None:
    """Have this process end when `parent` is killed, which would otherwise leave it waiting for ever."""

    def watch() -> None:
        while os.getppid() == parent:
            time.sleep(1)
        os._exit(1)

    threading.Thread(target=watch, daemon=True).start()


def _cost(work: tuple[Card, Clip]) -> float:
    card, clip = work
    return clip.seconds * {"avchd": 4.0, "sound": 0.3}.get(card.kind, 1.0)


def _write_clip(making: Path, card: Card, clip: Clip) -> None:
    """Write one clip's files into the unfinished card, unless they are there."""
    paths = [making / card.folder / path for path in _files(card, clip)]
    if all(path.exists() for path in paths):
        return
    paths[0].parent.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(dir=making) as name:
        scratch = Path(name)
        if card.kind == "avchd":
            footage.write_avchd(paths, card, clip, scratch)
        elif card.kind == "sound":
            footage.write_take(paths[0], card, clip, scratch)
        else:
            footage.write_movie(paths[0], card, clip, scratch)


def _files(card: Card, clip: Clip) -> list[Path]:
    if card.kind == "avchd":
        return [avchd_card.stream_path(int(clip.name) + part) for part in range(clip.files)]
    folder = "SOUND" if card.kind == "sound" else "CLIP"
    return [Path(folder) / f"{clip.name}.{_EXTENSIONS[card.kind]}"]


def _finish(folder: Path, card: Card) -> None:
    """Add what goes with the footage, then give the card its name."""
    unfinished = folder / _MAKING / card.folder
    for leftover in (HISTORY_FOLDER, HISTORY_PART):  # of a run that ended just here
        shutil.rmtree(unfinished / leftover, ignore_errors=True)
    (unfinished / f"{card.folder}.{card.checksums}").unlink(missing_ok=True)
    if card.kind == "avchd" and card.fault != "streams only":
        avchd_card.write_indexes(unfinished, [_lengths(unfinished, card, clip) for clip in card.clips])
    if card.kind == "mov":
        (unfinished / "CAMERA.DAT").write_bytes(b"CAM1" + card.name.encode().ljust(60, b"\0") + bytes(range(192)))
    if card.kind == "mp4":
        for clip in card.clips:
            _write_sidecar(unfinished / _files(card, clip)[0].with_suffix(".XML"), card, clip)
    _write_checksums(unfinished, card, beside=folder / f"{card.folder}.{card.checksums}")
    if card.fault == "flipped byte":
        flip_a_byte(unfinished / _files(card, card.clips[-1])[0])
    os.replace(unfinished, folder / card.folder)


def _lengths(folder: Path, card: Card, clip: Clip) -> list[tuple[int, float]]:
    """The number and the seconds of each stream of a recording."""
    lengths = []
    for path in _files(card, clip):
        with av.open(str(folder / path)) as stream:
            frames = sum(1 for packet in stream.demux(video=0) if packet.size)
        lengths.append((int(path.stem), float(card.timebase.rate.seconds(frames))))
    return lengths


def _write_sidecar(path: Path, card: Card, clip: Clip) -> None:
    rate = card.timebase.rate
    root = ET.Element("clip", name=clip.name, card=card.name)
    ET.SubElement(root, "start", timecode=clip.start, rate=f"{rate.numerator}/{rate.denominator}")
    ET.SubElement(root, "length", frames=str(card.frames(clip)))
    ET.indent(root)
    ET.ElementTree(root).write(path, encoding="UTF-8", xml_declaration=True)


def _write_checksums(folder: Path, card: Card, beside: Path) -> None:
    if not card.checksums:
        return
    paths = sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file())
    algorithm = "xxh128" if card.checksums == "ascmhl" else card.checksums
    hashes, failures = hash_files(folder, {path: [algorithm] for path in paths})
    if failures:
        raise OSError(f"{card.folder} could not be read back: {failures}")
    if card.checksums == "ascmhl":
        sizes = {path: (folder / path).stat().st_size for path in paths}
        made = datetime.fromisoformat(card.date).replace(hour=18, tzinfo=UTC)
        write_generation(folder, hashes, sizes, tool="Camera truck", tool_version="1", started=made)
    elif card.checksums == "xxh128":
        lines = [f"{hashes[path][algorithm]}  {card.folder}/{path}\n" for path in paths]
        beside.write_text("".join(lines), encoding="utf-8")
    else:
        lines = [f"{hashes[path][algorithm]}  {path}\n" for path in paths]
        (folder / f"{card.folder}.{algorithm}").write_text("".join(lines), encoding="utf-8")


def flip_a_byte(path: Path) -> None:
    """Change one bit inside a picture late in the clip: it plays on, and only a checksum tells."""
    with av.open(str(path)) as movie:
        packets = [packet for packet in movie.demux(video=0) if packet.size]
        packet = packets[len(packets) * 2 // 3]
        at = packet.pos + packet.size * 3 // 4
    with open(path, "r+b") as file:
        file.seek(at)
        byte = file.read(1)[0]
        file.seek(at)
        file.write(bytes([byte ^ 1]))
