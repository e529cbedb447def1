"""Small stills of a clip, cut one by one out of its filmstrip's sheets: a page that shows three of each of fifty
selects would otherwise fetch fifty sheets of a quarter megabyte.

A still is kept beside the sheets once it was asked for, and cut anew when the sheet is newer.
"""

import contextlib
import io
import os
import tempfile
from pathlib import Path

from PIL import Image

from review.models import Clip
from review.refusals import NotFound
from review.work.workshop import media_folder

FOLDER = "stills"
_QUALITY = 80


def index(clip: Clip, frame: int) -> int | None:
    """The number of the picture nearest before a frame; None if the clip has no filmstrip."""
    strip = clip.filmstrip
    if not strip or not strip["count"]:
        return None
    return min(max(frame, 0) // strip["every"], strip["count"] - 1)


def three(clip: Clip, in_frame: int, out_frame: int) -> list[int]:
    """The numbers of the first, the middle and the last picture of frames [in_frame, out_frame), each once."""
    found = [index(clip, frame) for frame in (in_frame, (in_frame + out_frame - 1) // 2, out_frame - 1)]
    return [each for each in dict.fromkeys(found) if each is not None]


def still(clip: Clip, number: int) -> bytes:
    """Picture `number` of the filmstrip as a JPEG. Raises NotFound where there is none (yet)."""
    strip = clip.filmstrip
    if not strip or not 0 <= number < strip["count"]:
        raise NotFound("There is no such picture of this clip.")
    on_a_sheet = strip["columns"] * strip["rows"]
    folder = media_folder(clip.id)
    sheet, kept = folder / strip["files"][number // on_a_sheet], folder / FOLDER / f"{number}.jpg"
    try:
        made = sheet.stat().st_mtime_ns
        with contextlib.suppress(OSError):
            if kept.stat().st_mtime_ns >= made:
                return kept.read_bytes()
        content = _cut(sheet, strip, number % on_a_sheet)
    except (OSError, ValueError):
        raise NotFound("This has not been made yet, or is being made again; try again in a moment.") from None
    _keep(kept, content)
    return content


def _cut(sheet: Path, strip: dict, place: int) -> bytes:
    row, column = divmod(place, strip["columns"])
    wide, high = strip["picture_width"], strip["picture_height"]
    with Image.open(sheet, formats=["JPEG"]) as picture:
        cut = picture.crop((column * wide, row * high, (column + 1) * wide, (row + 1) * high))
    made = io.BytesIO()
    cut.save(made, "JPEG", quality=_QUALITY, optimize=True)
    return made.getvalue()


def _keep(path: Path, content: bytes) -> None:
    """Written beside and moved when whole. A disk that is full or read-only keeps nobody from seeing the picture."""
    with contextlib.suppress(OSError):
        path.parent.mkdir(exist_ok=True)
        handle, written = tempfile.mkstemp(dir=path.parent, suffix=".part")
        with os.fdopen(handle, "wb") as file:
            file.write(content)
        os.replace(written, path)
