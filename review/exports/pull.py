"""What an export is made from: a selects list, its events in order, and the file that comes out."""

from dataclasses import dataclass
from datetime import date

from review.timecode import Timebase


class ExportRefused(ValueError):
    """The list cannot be written in this form; the message says what to change."""


@dataclass(frozen=True)
class ExportFile:
    """One finished file, for the caller to save or send."""

    name: str
    content: bytes
    content_type: str


@dataclass(frozen=True)
class Event:
    """One select with everything needed to find it again in the camera original.

    `in_frame` and `out_frame` are the half-open range [in, out), in frames of the clip counted from 0.
    `clip_start` is the frame since midnight, in `timebase`, that the camera gave the clip's frame 0; with
    `source_timecode` False, where it gave none, the frame of the file's time of day, or 0. `file` is the path below
    the card folder, with forward slashes, of the file that holds the first frame; where the range goes on in others,
    they are `more_files`.
    `held` is the range of the clip's frames that these files hold, if it is not all of the clip.
    `handles` are the frames before and after what was marked that the range has in it, and `clipped` how many more
    were wanted and are not there, as the clip ends. `also` are the ids of other selects that became part of this one.
    Raises ExportRefused for a range that is not inside the clip.
    """

    card: str
    reel: str
    camera: str
    shoot_date: date | None
    file: str
    clip: str
    timebase: Timebase
    clip_start: int
    clip_frames: int
    in_frame: int
    out_frame: int
    has_picture: bool
    channels: int
    source_timecode: bool
    tags: tuple[str, ...]
    note: str
    rating: int
    logger: str
    select_id: str
    more_files: tuple[str, ...] = ()
    held: tuple[int, int] | None = None
    section: str = ""
    handles: tuple[int, int] = (0, 0)
    clipped: tuple[int, int] = (0, 0)
    also: tuple[str, ...] = ()

    def __post_init__(self):
        if not 0 <= self.in_frame < self.out_frame <= self.clip_frames:
            raise ExportRefused(
                f"The select from frame {self.in_frame} to {self.out_frame} is not inside clip {self.clip} on card "
                f"{self.card}, which has {self.clip_frames} frames: mark it again, then export."
            )

    @property
    def length(self) -> int:
        """In frames."""
        return self.out_frame - self.in_frame

    @property
    def source_frame(self) -> int:
        """The select's first frame, counted from the midnight before the clip began; not wrapped."""
        return self.clip_start + self.in_frame

    @property
    def source_in(self) -> str:
        """The timecode of the first frame."""
        return self.timebase.label(self.source_frame)

    @property
    def source_out(self) -> str:
        """The timecode of the frame after the last: out minus in is the duration."""
        return self.timebase.label(self.source_frame + self.length)


@dataclass(frozen=True)
class SelectsList:
    """An ordered pull of selects. Raises ExportRefused when there are none."""

    title: str
    events: tuple[Event, ...]
    production: str

    def __post_init__(self):
        if not self.events:
            raise ExportRefused(f"The list “{self.title}” has no selects: add some first, then export.")
