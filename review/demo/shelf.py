"""The demo's drives, and which cards were copied to which: a card at every stage of the wipe question.

    KB04-261112-A01   three proven copies, one in the vault      may be wiped by the usual rule
    KB04-261113-A01   three, one of them on tape                  the same
    KB04-261112-A02   two, none elsewhere                         not yet
    KB04-261112-C01   one of three went bad on the shuttle        not any more
    KB04-261113-B01   no checksums, but the camera's own card     proven, and a single copy
                      was in the reader
    KB04-261112-S01   no checksums and a single copy              nothing proves it
    the held cards                                                what the check found comes first

Each drive is a folder whose `.rushlight-volume` names it, as a network share would be named.
"""

import shutil
from dataclasses import dataclass
from pathlib import Path

from review.cards.volumes import DECLARED
from review.demo.cards import flip_a_byte


@dataclass(frozen=True)
class Drive:
    """`kind` is a key of review.cards.media_kinds.KINDS; `years` is how long ago it was taken into use."""

    folder: str
    label: str
    kind: str
    place: str
    elsewhere: bool = False
    years: int = 1
    check_every: int | None = None  # days


@dataclass(frozen=True)
class Copied:
    """A card that lies on a drive, under `name` if that is not its own."""

    card: str
    drive: str
    name: str = ""
    is_original: bool = False
    bad: str = ""  # a file of it in which a bit has flipped since

    @property
    def folder(self) -> Path:
        return Path("drives") / self.drive / (self.name or self.card)


WORKED_FROM = Drive("cards", "Desk array", "server", "the loggers' room")
DRIVES = (
    # It is carried between set and office every day.
    Drive("shuttle", "Shuttle 2", "disk", "the camera truck", years=4, check_every=1),
    Drive("vault", "Vault drive 1", "disk", "the vault in town", elsewhere=True),
    Drive("tape", "Tape KB 001", "lto-8", "the vault in town", elsewhere=True),
    Drive("reader", "Card reader", "camera-card", "the camera truck"),
)
TAPE_DRIVE = ("Tape drive at the post house", 8)

COPIES = (
    Copied("KB04-261112-A01", "shuttle"),
    Copied("KB04-261112-A01", "vault"),
    Copied("KB04-261113-A01", "shuttle"),
    Copied("KB04-261113-A01", "tape"),
    Copied("KB04-261112-A02", "shuttle"),
    Copied("KB04-261112-C01", "shuttle", bad="CLIP/C0001.MP4"),
    Copied("KB04-261112-C01", "vault"),
    Copied("KB04-261113-B01", "reader", name="UNTITLED", is_original=True),
)


def make_drives(home: Path) -> None:
    """Copy the cards to the drives, but for those that are there. Raises OSError."""
    for drive in (WORKED_FROM, *DRIVES):
        folder = home / ("drives" if drive in DRIVES else "") / drive.folder
        folder.mkdir(parents=True, exist_ok=True)
        (folder / DECLARED).write_text(drive.label + "\n")
    for copied in COPIES:
        folder = home / copied.folder
        if folder.is_dir():
            continue
        part = folder.with_name(f".{folder.name}.part")  # so that a run that is cut short leaves no half copy
        shutil.rmtree(part, ignore_errors=True)
        shutil.copytree(home / "cards" / copied.card, part)
        if copied.bad:
            flip_a_byte(part / copied.bad)
        part.rename(folder)


def roots(home: Path) -> list[Path]:
    """The card roots of the demo."""
    return [home / "cards", *(home / "drives" / drive.folder for drive in DRIVES)]
