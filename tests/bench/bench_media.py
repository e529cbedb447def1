"""What a clip's whole work costs beyond the bare ffmpeg command that makes its proxy.

    python -m tests.bench.bench_media

CPU seconds of this process and its children, medians of interleaved rounds on grainy synthetic clips: read them as
ratios. The whole work is the probe, the proxy, its comparison with the original, filmstrip, peaks and lanes; of the
long clip also its sections, the lengths that could be watched meanwhile, and the joining.
"""

import os
import resource
import subprocess
import tempfile
from pathlib import Path
from statistics import median

from review.media import lanes, sections
from review.media.ffmpeg import ffmpeg_binary
from review.media.filmstrip import make_filmstrip
from review.media.frame_match import match_frames
from review.media.peaks import make_peaks
from review.media.probe import probe
from review.media.proxy import arguments_for, make_proxy_of
from review.media.recording import Recording
from review.timecode import Rate, Timebase

ROUNDS = 5
CLIPS = {"short": (20, "1920x1080"), "long, in sections": (60, "1920x1080")}  # seconds, size
SECTION = 30  # seconds; those of five minutes have a tenth of the run-up
BARE = "bare ffmpeg command"
CLIP = (
    "-f lavfi -i testsrc2=s={1}:r=25:d={0},noise=alls=12:allf=t -f lavfi -i sine=d={0}:r=48000 "
    "-map 0:v -map 1:a -map 1:a -c:v libx264 -preset ultrafast -crf 20 -g 25 -pix_fmt yuv420p -c:a pcm_s16le -shortest"
)


def cpu_of(work) -> float:
    def spent():
        return sum(sum(resource.getrusage(who)[:2]) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))

    before = spent()
    work()
    return spent() - before


def steps_of(source: Path, folder: Path, in_sections: bool) -> dict:
    """What is done for a clip, by name, in order; the bare command first."""
    timebase = Timebase(Rate(25))
    found = probe(source)
    recording = Recording.of([source], found, timebase)
    frames, channels, made = recording.frames, recording.channels, folder / "proxy.mp4"
    bare = arguments_for(recording, folder / "bare.mp4", threads=1)
    planned = sections.plan(recording, SECTION, SECTION) if in_sections else []
    ears = []

    def section(each):
        sections.make_section(recording, each, folder)
        pictures = sections.SectionFiles.of(folder, each.number).pictures
        match_frames(recording, pictures, each.first, each.end, samples=3)

    def grow():
        sections.join(recording, planned[:1], folder, folder / "so-far.mp4")  # of two, then the whole

    def join():
        assert all(sections.seam_holds(recording, each, folder) for each in planned[:-1])
        sections.join(recording, planned, folder, made)

    def peaks():
        ears[:] = [lanes.Ears(channels)]
        make_peaks(made, timebase, frames, channels, folder, hear=ears[0].hear)

    making = {
        "proxy": lambda: make_proxy_of(recording, made, threads=1),
        "comparison": lambda: match_frames(recording, made),
    }
    if in_sections:
        making = {f"section {each.number}": lambda each=each: section(each) for each in planned}
        making |= {"so far": grow, "joining": join}
    return {
        BARE: lambda: subprocess.run([ffmpeg_binary(), "-nostdin", "-loglevel", "error", *map(str, bare)], check=True),
        "probe": lambda: probe(source),
        **making,
        "filmstrip": lambda: make_filmstrip(made, timebase, frames, folder),
        "peaks": peaks,
        "lanes": lambda: lanes.make_lanes(made, timebase, frames, folder, ears=ears[0], pictures=True),
    }


def main() -> None:
    print(f"{os.cpu_count()} cores, medians of {ROUNDS} rounds")
    for name, (seconds, size) in CLIPS.items():
        with tempfile.TemporaryDirectory() as folder:
            source = Path(folder) / "source.mov"
            making = CLIP.format(seconds, size).split()
            subprocess.run([ffmpeg_binary(), "-loglevel", "error", *making, str(source)], check=True)
            steps = steps_of(source, Path(folder), name != "short")
            rounds = [{step: cpu_of(work) for step, work in steps.items()} for _ in range(ROUNDS)]
        bare = median(each[BARE] for each in rounds)
        whole = median((sum(each.values()) - each[BARE]) / each[BARE] for each in rounds)
        print(f"\n{name}, {seconds} s of {size} at 25")
        print(f"{'step':<40} {'CPU s':>7} {'of bare':>8}")
        for step in steps:
            spent = median(each[step] for each in rounds)
            print(f"{step:<40} {spent:>7.2f} {spent / bare:>8.2f}")
        print(f"{'whole work':<40} {whole * bare:>7.2f} {whole:>8.2f}   at most 1.15 is wanted")


if __name__ == "__main__":
    main()
