"""What a proxy costs beyond the bare ffmpeg command, and what the filmstrip and the peaks add.

    python -m tests.bench.bench_media

CPU seconds of this process and its children, medians of interleaved rounds on a grainy synthetic clip: read them
as ratios.
"""

import os
import resource
import subprocess
import tempfile
from pathlib import Path
from statistics import median

from review.media.ffmpeg import ffmpeg_binary
from review.media.filmstrip import make_filmstrip
from review.media.peaks import make_peaks
from review.media.probe import probe
from review.media.proxy import make_proxy, proxy_arguments
from review.timecode import Rate, Timebase

ROUNDS = 5
SECONDS = 20
CLIP = (
    f"-f lavfi -i testsrc2=s=1920x1080:r=25:d={SECONDS},noise=alls=12:allf=t -f lavfi -i sine=d={SECONDS}:r=48000 "
    "-map 0:v -map 1:a -map 1:a -c:v libx264 -preset ultrafast -crf 20 -pix_fmt yuv420p -c:a pcm_s16le -shortest"
)


def cpu_of(work) -> float:
    def spent():
        return sum(sum(resource.getrusage(who)[:2]) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))

    before = spent()
    work()
    return spent() - before


def main() -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        source, made = folder / "source.mov", folder / "proxy.mp4"
        subprocess.run([ffmpeg_binary(), "-loglevel", "error", *CLIP.split(), str(source)], check=True)
        found, timebase = probe(source), Timebase(Rate(25))
        frames = found.length(timebase)
        bare = proxy_arguments([source], found, timebase, folder / "bare.mp4", threads=2)
        command = [ffmpeg_binary(), "-nostdin", "-loglevel", "error", *map(str, bare)]
        steps = {
            "bare ffmpeg command": lambda: subprocess.run(command, check=True),
            "proxy": lambda: make_proxy([source], found, timebase, made),
            "probe": lambda: probe(source),
            "filmstrip": lambda: make_filmstrip(made, timebase, frames, folder),
            "peaks": lambda: make_peaks(made, timebase, frames, found.channels, folder),
        }
        rounds = [{step: cpu_of(work) for step, work in steps.items()} for _ in range(ROUNDS)]
    print(f"{SECONDS} s of 1920x1080 at 25, {os.cpu_count()} cores, medians of {ROUNDS} rounds")
    print(f"{'step':<20} {'CPU s':>7} {'of bare':>8}")
    least = median(each["bare ffmpeg command"] for each in rounds)
    for step in steps:
        spent = median(each[step] for each in rounds)
        print(f"{step:<20} {spent:>7.2f} {spent / least:>8.2f}")


if __name__ == "__main__":
    main()
