"""What the XML files beside a clip say of it, brought together with what its own files say."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path, PurePosixPath

from review.card_xml import MOST_BYTES
from review.media.clip_xml import ClipXml, read_clip_xml
from review.media.originals import read_small
from review.media.probe import VIDEO, Probe

MOST_SIDECARS = 200  # of one clip


@dataclass(frozen=True)
class Told:
    """`xml` by the place of the file in the clip, from 0; `notes` on those that could not be read."""

    xml: dict[int, ClipXml]
    notes: tuple[str, ...] = ()


def read_sidecars(card: Path, sidecars: Sequence[str], files: Sequence[str]) -> Told:
    """Read the XML among `sidecars`; all paths are below the folder `card`, and `files` are the clip's in order."""
    found, notes = {}, []
    for sidecar in [path for path in sidecars if path.lower().endswith(".xml")][:MOST_SIDECARS]:
        place = _place(sidecar, files)
        if place is None or place in found:
            continue
        try:
            xml = read_clip_xml(read_small(card / sidecar, MOST_BYTES))
        except OSError as problem:
            notes.append(f"{PurePosixPath(sidecar).name} could not be read ({problem.strerror or 'it is not a file'})")
        except ValueError as problem:
            notes.append(f"{PurePosixPath(sidecar).name} {problem}")
        else:
            if xml is not None:
                found[place] = xml
    return Told(found, tuple(notes))


def with_sidecars(whole: Probe, parts: Sequence[Probe], told: Told) -> Probe:
    """`whole` (which `parts` were joined to) with the start that the first file's XML gives, and what is odd."""
    notes, before, sources, shot_at = list(told.notes), 0, [], None
    for place, part in enumerate(parts):
        xml = told.xml.get(place)
        if xml and part.rate:
            try:
                source = xml.source(part.rate)
            except ValueError as problem:
                notes.append(f"the clip XML is of no use: it {problem}")
            else:
                if place == 0:
                    sources, shot_at = [source] if source else [], xml.shot_at
            notes += xml.notes(part.rate, part.frames, before)
        before += part.frames
    return whole.with_sources(*sources, notes=notes, shot_at=shot_at)


def shorter_than_said(told: Told, parts: Sequence[Probe], files: Sequence[str]) -> list[tuple[str, int, int]]:
    """Files of a clip that hold fewer frames than their XML says: (file, frames counted, frames said)."""
    found = []
    for place, (part, file) in enumerate(zip(parts, files, strict=True)):
        xml = told.xml.get(place)
        if (
            xml
            and xml.duration is not None
            and part.kind == VIDEO
            and not part.variable_rate
            and part.frames < xml.duration
        ):
            found.append((file, part.frames, xml.duration))
    return found


def _place(sidecar: str, files: Sequence[str]) -> int | None:
    """Which of the files it belongs to: the one whose name it begins with, the longest if several do."""
    stem = PurePosixPath(sidecar).stem.casefold()
    stems = [PurePosixPath(file).stem.casefold() for file in files]
    fitting = [place for place, each in enumerate(stems) if stem.startswith(each)]
    if not fitting:
        return 0 if len(files) == 1 else None
    return max(fitting, key=lambda place: len(stems[place]))
