"""The lanes: how right they are on the test sound and pictures, and what they cost.

    python -m tests.bench.bench_lanes

Precision and recall per hundredth of a second of speech, per frame of black and stillness, and of cuts on their very
frame. Cost in CPU seconds of this process and its children: in times real time, and of the bare ffmpeg command that
makes the same proxy, medians of interleaved rounds.
"""

import os
import subprocess
import tempfile
from pathlib import Path
from statistics import median

from review.media.ffmpeg import ffmpeg_binary
from review.media.filmstrip import make_filmstrip
from review.media.form import SAMPLE_RATE
from review.media.lanes import Ears, make_lanes
from review.media.peaks import make_peaks
from review.media.probe import probe
from review.media.proxy import make_proxy, proxy_arguments
from review.timecode import Rate, Timebase
from tests.bench.bench_media import cpu_of
from tests.media.shots import film
from tests.media.talk import NOISES, conversation, over, score
from tests.media.test_lanes_pictures import MIXED, share
from tests.media.test_lanes_pictures import lanes_of as lanes_of_pictures
from tests.media.test_lanes_speech import lane as speech_lane

ROUNDS = 5
SECONDS = 20
CLIP = (
    f"-f lavfi -i testsrc2=s=1920x1080:r=25:d={SECONDS},noise=alls=12:allf=t -f lavfi -i sine=d={SECONDS}:r=48000 "
    "-map 0:v -map 1:a -map 1:a -c:v libx264 -preset ultrafast -crf 20 -pix_fmt yuv420p -c:a pcm_s16le -shortest"
)
APART = (30, 20, 10, 3)  # decibels by which the talk is louder
GRAINS = (0, 4, 12, 25)


def speech() -> None:
    talk, size = conversation()[1], len(conversation()[0])
    print(
        f"speech, {len(talk) / 100:.0f} s, {talk.mean():.0%} of it talk: precision/recall, by how much talk is louder"
    )
    print(f"{'over':<10}" + "".join(f"{f'{decibels} dB':>12}" for decibels in APART))
    for name, make in NOISES.items():
        noise = make(size)
        scores = [score(speech_lane(over(noise, decibels)), talk) for decibels in APART]
        print(f"{name:<10}" + "".join(f"{f'{right:.2f}/{found:.2f}':>12}" for right, found in scores))
    heard = over(NOISES["hiss"](size), 30)
    cost = median(cpu_of(lambda: speech_lane(heard)) for _ in range(ROUNDS))
    print(f"one channel: {len(heard) / SAMPLE_RATE / cost:.0f} times real time\n")


def pictures(folder: Path) -> None:
    print("pictures: precision/recall by grain")
    for grain in GRAINS:
        starts = film(folder / "film.mp4", [(shot, count) for shot, count, _ in MIXED], grain)
        black, still, cuts, frames = lanes_of_pictures(folder / "film.mp4")
        edges, said = [0, *starts, frames], []
        for lane, found in (("black", black), ("still", still)):
            wanted = [(edges[at], edges[at + 1]) for at, (_, _, is_) in enumerate(MIXED) if is_ == lane]
            said.append("{} {:.2f}/{:.2f}".format(lane, *map(float, share(found, wanted))))
        wanted = {start for start in starts if start != starts[4]}  # there somebody walks into the same view
        hits = len(wanted & set(cuts))
        print(f"grain {grain:<4} {'  '.join(said)}  cuts {hits / max(1, len(cuts)):.2f}/{hits / len(wanted):.2f}")
    print()


def cost(folder: Path) -> None:
    source, made = folder / "source.mov", folder / "proxy.mp4"
    subprocess.run([ffmpeg_binary(), "-loglevel", "error", *CLIP.split(), str(source)], check=True)
    found, timebase = probe(source), Timebase(Rate(25))
    frames, channels = SECONDS * 25, found.channels
    bare = proxy_arguments([source], found, timebase, folder / "bare.mp4", threads=2)
    command = [ffmpeg_binary(), "-nostdin", "-loglevel", "error", *map(str, bare)]
    ears: list[Ears] = []

    def peaks_and_ears():
        ears[:] = [Ears(channels)]
        make_peaks(made, timebase, frames, channels, folder, hear=ears[0].hear)

    steps = {
        "bare ffmpeg command": lambda: subprocess.run(command, check=True),
        "proxy": lambda: make_proxy([source], found, timebase, made),
        "filmstrip": lambda: make_filmstrip(made, timebase, frames, folder),
        "peaks": lambda: make_peaks(made, timebase, frames, channels, folder),
        "peaks, ears listening": peaks_and_ears,
        "lanes": lambda: make_lanes(made, timebase, frames, folder, ears=ears[0], pictures=True),
    }
    rounds = [{step: cpu_of(work) for step, work in steps.items()} for _ in range(ROUNDS)]
    spent = {step: median(each[step] for each in rounds) for step in steps}
    least = spent["bare ffmpeg command"]
    print(f"{SECONDS} s of 1920x1080 at 25, {channels} channels, {os.cpu_count()} cores, medians of {ROUNDS} rounds")
    print(f"{'step':<24} {'CPU s':>7} {'of bare':>8} {'x real time':>12}")
    for step, seconds in spent.items():
        print(f"{step:<24} {seconds:>7.2f} {seconds / least:>8.3f} {SECONDS / seconds:>12.0f}")
    lanes = spent["lanes"] + spent["peaks, ears listening"] - spent["peaks"]
    print(f"{'lanes in all':<24} {lanes:>7.2f} {lanes / least:>8.3f} {SECONDS / lanes:>12.0f}")
    whole = sum(spent[step] for step in ("proxy", "filmstrip", "peaks, ears listening", "lanes"))
    print(f"{'a clip in all':<24} {whole:>7.2f} {whole / least:>8.3f} {SECONDS / whole:>12.1f}")


def main() -> None:
    speech()
    with tempfile.TemporaryDirectory() as name:
        pictures(Path(name))
        cost(Path(name))


if __name__ == "__main__":
    main()
