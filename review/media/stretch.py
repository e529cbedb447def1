"""The pictures and the sound of any stretch of a recording, as a graph for ffmpeg.

Each picture of the source becomes one of the proxy's, at exactly n frames of the timebase, and the
sound is moved by what separated it from the picture. A stretch that begins inside a file is reached
by going to a frame some way before it and counting from there by the pictures' own times:

    file    0 ............ start .............. first ............... end
                           |<-read, not used->| |<------ used ------->|

The run-up gives decoders, the deinterlacer and the resampler what they lean on.
"""

from fractions import Fraction

import ffmpeg

from review.media.ffmpeg import source
from review.media.form import HEIGHT, SAMPLE_RATE, WIDTH, fit, sample_at
from review.media.recording import Part, Piece, Recording
from review.timecode import Rate

RUN_UP = 1  # seconds read before the first frame that is used
LONG_RUN_UP = 5  # ... in streams without an index, where one lands between key frames

# Layouts in which the codecs keep every channel as it is and in its place.
_LAYOUTS = {1: "mono", 2: "stereo", 3: "3.0", 4: "4.0", 5: "5.0", 6: "5.1", 7: "6.1", 8: "7.1"}
_WAVES = {"size": f"{WIDTH}x{HEIGHT}", "n": SAMPLE_RATE // WIDTH, "mode": "cline", "colors": "0xB9A88C", "draw": "full"}
_WITHOUT_INDEX = ("mpegts", "mpeg")
_ON_A_SAMPLE = 300  # times a second that samples of 48,000 and of 44,100 begin together


def size(recording: Recording) -> tuple[int, int]:
    """Width and height of the proxy's picture."""
    return (WIDTH, HEIGHT) if recording.sound_only else fit(recording.probe.aspect)


def picture(recording: Recording, first: int, end: int, *, threads: int, held: bool = False):
    """Frames [first, end) of a recording with pictures, scaled and on the grid from 0; and a list of streams.

    `held` puts each picture where its time says, and holds the one before where some are missing. Then the list has
    for each of the recording's pieces what was decoded, tiny, with the times that `picture_index` reads.
    """
    pieces = recording.pieces(first, end)
    parts, tells = [], []
    for piece in pieces:
        pictures = _input(recording, piece.part, 0, _start(recording, piece), threads)["V:0"]
        if recording.probe.interlaced:
            pictures = pictures.filter("bwdif", mode="send_frame")  # one picture per label, not one per field
        if held:
            branches = pictures.split()
            pictures = branches[0]
            tells.append(branches[1].filter("scale", 16, 16).filter("format", "gray"))
        pictures = _placed(pictures, recording, piece, held)
        pictures = pictures.filter("scale", *size(recording), flags="bicubic").filter("setsar", 1)
        parts.append(on_the_grid(pictures.filter("format", "yuv420p"), recording.rate))
    joined = parts[0] if len(parts) == 1 else on_the_grid(ffmpeg.concat(*parts, v=1, a=0), recording.rate)
    return joined, tells


def sound(recording: Recording, first: int, end: int, *, threads: int):
    """The sound of frames [first, end) of a recording with pictures, its channels side by side in their order, with
    silence where there is none: `sample_at(end) - sample_at(first)` samples. None for a silent recording."""
    if not recording.channels:
        return None
    parts = []
    for piece in recording.pieces(first, end):
        start = _start(recording, piece)
        channels = _side_by_side(
            [
                _aligned(_input(recording, piece.part, file, start, threads)[f"a:{number}"], recording, file, start)
                for file, number in _streams(recording)
            ],
            recording,
        )
        begin, stop = (sample_at(piece.before + frame, recording.rate) for frame in (piece.first, piece.end))
        skipped = sample_at(piece.before, recording.rate) + sample_at(start, recording.rate)
        channels = channels.filter("atrim", start_sample=begin - skipped, end_sample=stop - skipped)
        parts.append(channels.filter("asetpts", "PTS-STARTPTS"))
    return parts[0] if len(parts) == 1 else ffmpeg.concat(*parts, v=0, a=1)


def sound_alone(recording: Recording, threads: int):
    """A picture and the sound of a recording without pictures.

    Its streams are read from the first file to the last, whatever frames the files end in.
    """
    streams = []
    for file, number in _streams(recording):
        parts = [
            _aligned(_input(recording, part, file, 0, threads)[f"a:{number}"], recording, file, 0)
            for part in recording.parts
        ]
        streams.append(parts[0] if len(parts) == 1 else ffmpeg.concat(*parts, v=0, a=1))
    branches = _side_by_side(streams, recording).asplit()
    heard = branches[1].filter("atrim", end_sample=sample_at(recording.frames, recording.rate))
    return _waves(branches[0], recording), heard


def on_the_grid(pictures, rate: Rate):
    """setpts counts its own frames, so whatever times the source had, frame n lands at n."""
    return pictures.filter("settb", f"{rate.denominator}/{rate.numerator}").filter("setpts", "N")


def laid_out(sound, channels: int):
    """Name the channels without mixing or moving them; any beyond `channels` are left out."""
    return _named(sound, channels, _LAYOUTS[channels])


def picture_index(recording: Recording, piece: Piece, time: Fraction) -> int:
    """Which frame of the recording a picture of a piece is, by the time it has in the graph (seconds)."""
    return piece.before + round((time - _zero(recording, piece)) * recording.rate.fraction)


def _input(recording: Recording, part: Part, file: int, start: int, threads: int):
    """The part's own file or files (0) or the sound file beside it of that number, from frame `start` on."""
    options = {"threads": threads if file == 0 else 1}
    if start:
        offset = 0 if file else recording.probe.picture_offset
        options["ss"] = f"{float(recording.rate.seconds(start) + offset):.6f}"
    if file:
        return source(part.beside[file - 1], **options)
    if recording.probe.video_codec == "h264":
        options["skip_loop_filter"] = "all"  # saves an eighth of the work, and cannot be seen at this size
    return source(*part.files, **options)


def _start(recording: Recording, piece: Piece) -> int:
    """The frame of the part at which to begin reading: 0 for its start, where nothing has to be sought.

    It begins with a whole sample, be there 48,000 or 44,100 a second, so that sound is not moved by part of one.
    """
    run_up = LONG_RUN_UP if recording.probe.container in _WITHOUT_INDEX else RUN_UP
    whole = (1 / recording.rate.fraction * _ON_A_SAMPLE).denominator
    return max(0, (piece.first - run_up * recording.rate.nominal) // whole * whole)


def _zero(recording: Recording, piece: Piece) -> Fraction:
    """The time in the graph of the part's first frame: ffmpeg's clock starts where it begins to read."""
    start = _start(recording, piece)
    return -recording.rate.seconds(start) if start else recording.probe.picture_offset


def _placed(pictures, recording: Recording, piece: Piece, held: bool):
    """Only the piece's own frames: by number from the start of a file, by their times after going to a place in it."""
    rate, zero = recording.rate, _zero(recording, piece)
    fps = f"{rate.numerator}/{rate.denominator}"
    count = piece.end - piece.first
    first = float(zero + rate.seconds(piece.first))
    if held:
        pictures = pictures.filter("fps", fps=fps, start_time=f"{first:.6f}")
        return on_the_grid(pictures.filter("tpad", stop=-1, stop_mode="clone"), rate).filter("trim", end_frame=count)
    if recording.probe.variable_rate:
        return pictures.filter("fps", fps=fps)
    half = float(rate.seconds(1)) / 2
    edges = {}
    if piece.first:
        edges["start"] = f"{first - half:.6f}"
    if piece.end < piece.part.frames:
        edges["end"] = f"{float(zero + rate.seconds(piece.end)) - half:.6f}"
    return pictures.filter("trim", **edges) if edges else pictures


def _waves(sound, recording: Recording):
    """A picture for a clip that has none: what is heard, drawn a second at a time and held while it lasts."""
    rate = recording.rate
    # showwaves starts with an empty picture, and times each one by its end: so the first goes, and they are numbered.
    seconds = sound.filter("showwaves", **_WAVES).filter("trim", start_frame=1)
    seconds = seconds.filter("settb", "1").filter("setpts", "N")
    steady = seconds.filter("fps", fps=f"{rate.numerator}/{rate.denominator}").filter("format", "yuv420p")
    return on_the_grid(steady.filter("trim", end_frame=recording.frames), rate)


def _streams(recording: Recording) -> list[tuple[int, int]]:
    """Which file (0, or of those beside) and which audio stream of it each of the recording's streams is."""
    found, counted = [], {}
    for stream in recording.probe.audio:
        number = counted.get(stream.source, 0)
        counted[stream.source] = number + 1
        found.append((stream.source, number))
    taken = 0
    for place, stream in enumerate(recording.probe.audio):
        if taken >= recording.channels:
            return found[:place]
        taken += stream.channels
    return found


def _aligned(stream, recording: Recording, file: int, start: int):
    """The stream at the proxy's sample rate, from the first frame on: sound beside the picture starts with it."""
    if not start and not file:
        # Rounded, not cut off: or the sound would begin a sample early in one stretch and not in another.
        stream = stream.filter("asetpts", f"round(PTS-{float(recording.probe.picture_offset):.9f}/TB)")
    return stream.filter("atrim", start=0).filter("aresample", SAMPLE_RATE, **{"async": 1, "first_pts": 0})


def _side_by_side(streams: list, recording: Recording):
    """All channels in one stream, in their order, with silence without end after."""
    parts, left = [], recording.channels
    for stream, facts in zip(streams, recording.probe.audio, strict=False):
        width = min(facts.channels, left)
        # amerge keeps the order of its inputs only while their layouts overlap: all are to have a front left.
        parts.append(_named(stream, width, "FL" if width == 1 else _LAYOUTS[width]).filter("apad"))
        left -= width
    merged = parts[0] if len(parts) == 1 else ffmpeg.filter(parts, "amerge", inputs=len(parts))
    # Sections are kept as such samples: so that a clip sounds the same however it was made, all are.
    return laid_out(merged, recording.channels).filter("aformat", sample_fmts="s16")


def _named(sound, channels: int, layout: str):
    order = "|".join(str(channel) for channel in range(channels))
    return sound.filter("channelmap", map=order, channel_layout=layout)
