"""What a cut list says, before anything is known of the footage it means."""

from dataclasses import dataclass


class CutUnreadable(ValueError):
    """The file is not a cut list that can be read; the message says why and what to do."""


@dataclass(frozen=True)
class Event:
    """One line of the list: a piece of one source. A dissolve or wipe has two, that go out and come in.

    Labels are as they were written, but with two digits in every place. Outs are exclusive. An event that could not be
    read has none.
    """

    number: str
    reel: str
    channels: str
    edit: str  # C, D, W001, K, KB, KO
    effect: int  # frames of the record that a dissolve or wipe lasts
    source_in: str
    source_out: str
    record_in: str
    record_out: str
    line: int  # of the file, from 1
    drop: bool | None = None  # as the list says; None: it does not
    clip_name: str = ""
    file: str = ""  # a file's name or path
    card: str = ""  # the name of a card folder, as our own lists give it
    speed: float | None = None  # frames a second that the source runs at, below 0 backwards; None: as it was shot
    tail: int = 0  # frames of the record that the source goes on for under the next one's dissolve or wipe
    unread: str = ""  # the line as it stands, where it has not the four timecodes of an event

    @property
    def edit_words(self) -> str:
        """As it was written: 'C', 'D 012'."""
        return f"{self.edit} {self.effect:03}" if self.effect else self.edit


@dataclass(frozen=True)
class CutList:
    title: str
    events: tuple[Event, ...]
    remarks: tuple[str, ...]  # for people: what could not be read, where and why
