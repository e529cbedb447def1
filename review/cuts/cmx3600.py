"""Reading CMX3600 lists as they are found, not as they should be.

    001  61112A03 AA/V  C        10:00:00:00 10:00:04:00 01:00:00:00 01:00:04:00
    002  61112A03 V     C        10:00:04:00 10:00:04:00 01:00:04:00 01:00:04:00    goes out for 12 frames more
    002  61112B01 V     D    012 11:00:00:00 11:00:02:00 01:00:04:00 01:00:06:00    and this comes in
    M2   61112B01       050.0                11:00:00:00                            at 50 frames a second
    * FROM CLIP NAME: A003C001

Columns are not counted: an event is a number and four timecodes with a reel, channels and an edit between them, so that
long reels, reels with spaces, no reel and lost or doubled spaces are all read. What a comment says belongs to the event
above it. An event whose timecodes cannot be read stays an event, so that whoever counts them misses none. An unknown
comment is nobody's business; any other line that is not understood becomes a remark.
"""

import re
from dataclasses import replace

from review.cuts.events import CutList, CutUnreadable, Event
from review.cuts.text import lines_of

MOST_EVENTS = 20_000
MOST_REMARKS = 50
LONGEST_NAME = 255
LONGEST_UNREAD = 120

_LABEL = re.compile(r"(?<!\d)\d[:;.,]\d\d[:;.,]\d\d[:;.,]\d\d|\d\d[:;.,]\d\d[:;.,]\d\d[:;.,]\d\d", re.ASCII)
_TIME = re.compile(
    r"(?<!\S)(?:\d\d?[:;.,]\d|\w\w?[:;.,]\w\w?[:;.,]\w)", re.ASCII
)  # a timecode's beginning, perhaps broken
_NUMBER = re.compile(r"(\d{1,8})(?=\s|[A-Za-z_])\s*|(\d{3})(?=\d)", re.ASCII)
_EDIT = re.compile(r"(C|D|K|KB|KO|W\d{1,3})", re.ASCII)
_LENGTH = re.compile(r"\d{1,5}", re.ASCII)
_KEY = re.compile(r"\bK +([BO])\b *(\d*) *(?:\(F\))? *$", re.ASCII)
_CHANNELS = re.compile(r"(?:NONE|B|V\d{0,2}|A\d{0,2}|AA|VA\d{0,2}|AV)(?:/(?:V\d{0,2}|A\d{0,2}|AA))*", re.IGNORECASE)
_SPEED = re.compile(r"[+-]?\d{1,4}(?:\.\d{1,4})?", re.ASCII)
_COMMENT = re.compile(r"(?:\*\s*)*\s*(FROM CLIP NAME|TO CLIP NAME|SOURCE FILE|FROM FILE|FROM CLIP)\s*:\s*(.*)", re.I)
_CARD = re.compile(r"(?:\*\s*)*\s*COMMENT\s*:\s*CARD (\S.*?)(?: FILE (.*))?", re.I)
_FREEZE = re.compile(r"(?:\*\s*)+FREEZE FRAME\b", re.I)
# Lines that say nothing of where footage came from.
_OTHER = re.compile(r"\*|>>>|\||REM\b|AUD\b|SPLIT\b|EFFECTS? NAME|BLEND\b|GPI\b|MASTER\b|\$|#|MOTION\b|LEN\b", re.I)


def read(content: bytes) -> CutList:
    """The events of a list, in its order. Raises CutUnreadable where there are none, or too many."""
    reader = _Reader()
    for number, line in enumerate(lines_of(content), start=1):
        if line.strip():
            reader.take(number, line.strip())
    if all(event.unread for event in reader.events):
        raise CutUnreadable(
            "No line of this file is an event with a reel and four timecodes, so it is not a CMX3600 EDL. "
            "Export the sequence as one."
        )
    reader.end_group()
    return CutList(reader.title, tuple(reader.events), tuple(reader.remarks))


class _Reader:
    def __init__(self):
        self.title = ""
        self.events: list[Event] = []
        self.remarks: list[str] = []
        self.drop: bool | None = None
        self.group = 0  # where the events begin that have the last one's number
        self.about: int | None = None  # the event that a file's name belongs to, where the list has said which

    def take(self, number: int, line: str) -> None:
        upper = line.upper()
        if upper.startswith("TITLE") and not self.events:
            self.title = line[5:].lstrip(" :").strip()[:LONGEST_NAME]
        elif upper.startswith("FCM"):
            self.drop = "DROP" in upper and "NON" not in upper
        elif "0" <= line[0] <= "9":
            self._event(number, line)
        elif re.match(r"M2\b", upper):
            self._motion(number, line)
        elif not self._named(line) and not _OTHER.match(line):
            self._remark(number, "is not a kind of line that is known; it was left out")

    def _event(self, number: int, line: str) -> None:
        labels = list(_LABEL.finditer(line))[-4:]
        start = _NUMBER.match(line)
        times = labels[0] if len(labels) == 4 else _TIME.search(line)
        reel, channels, edit, effect = (
            _middle(line[start.end() : times and times.start()]) if start else ("", "", "", 0)
        )
        if start is None or not (times or edit):
            self._remark(number, "begins like an event and has neither timecodes nor an edit; it was left out")
            return
        if len(self.events) == MOST_EVENTS:
            raise CutUnreadable(f"The list has more than {MOST_EVENTS:,} events. Export it in parts.")
        unread = "" if len(labels) == 4 else line[:LONGEST_UNREAD]
        if not edit:
            edit = "C"
            self._remark(number, "does not say what kind of edit it is, and was read as a cut")
        event_number = start[1] or start[2]
        if not (self.events and self.events[-1].number == event_number):
            self.end_group()
        self.about = None
        found = [""] * 4 if unread else [label[0].rjust(11, "0") for label in labels]
        drop = self._drops(found)
        self.events.append(
            Event(event_number, reel[:LONGEST_NAME], channels[:20], edit, effect, *found, number, drop, unread=unread)
        )

    def _drops(self, labels: list[str]) -> bool | None:
        """What the list said last, or else what stands before the frames."""
        if self.drop is None and any(label[8:9] in (";", ",") for label in labels):
            return True
        return self.drop

    def end_group(self) -> None:
        """The source that goes out under a dissolve or wipe runs on for as long as it lasts."""
        group, self.group, self.about = self.events[self.group :], len(self.events), None
        for place, incoming in enumerate(group, start=self.group - len(group)):
            outgoing = self.events[place - 1] if place else None
            if not incoming.effect or outgoing is None:
                continue
            if outgoing.record_out != incoming.record_in and not incoming.unread:
                continue
            self.events[place - 1] = replace(outgoing, tail=incoming.effect)

    def _motion(self, number: int, line: str) -> None:
        """M2: the reel, the speed, and the timecode that it begins at."""
        parts = _LABEL.sub(" ", line[2:]).split()
        speed = next((part for part in reversed(parts) if _SPEED.fullmatch(part)), None)
        if speed is None or not self.events:
            self._remark(number, "changes a speed, and does not say to what or of which event; it was left out")
            return
        reel = " ".join(parts[: -1 - parts[::-1].index(speed)]).upper()
        group = range(len(self.events) - 1, self.group - 1, -1)
        place = next((at for at in group if self.events[at].reel.upper() == reel), len(self.events) - 1)
        self.events[place] = replace(self.events[place], speed=float(speed))

    def _named(self, line: str) -> bool:
        if not self.events:
            return False
        if match := _COMMENT.fullmatch(line):
            kind, words = match[1].upper(), " ".join(match[2].split())[:LONGEST_NAME]
            if kind in ("FROM CLIP NAME", "TO CLIP NAME"):
                self._name(kind, words)
            else:
                self._say(self._last(), file=words)
        elif match := _CARD.fullmatch(line):
            self._say(self._last(), card=match[1].strip()[:LONGEST_NAME])
            if match[2]:
                self._say(self._last(), file=match[2].strip()[:LONGEST_NAME])
        elif _FREEZE.match(line):
            if self.events[self._last()].speed is None:
                self._say(self._last(), speed=0.0)
        else:
            return False
        return True

    def _name(self, kind: str, words: str) -> None:
        last = len(self.events) - 1
        if kind == "TO CLIP NAME" and not self.events[last].effect and self.events[last].clip_name:
            return  # it is the next event's
        going_out = kind == "FROM CLIP NAME" and self.events[last].effect and last > self.group
        self.about = last - 1 if going_out else last
        self._say(self.about, clip_name=words)
        if kind == "FROM CLIP NAME" and not self.events[last].effect:  # picture and sound of one edit, a line each
            for place in range(self.group, last):
                if self.events[place].reel == self.events[last].reel and not self.events[place].clip_name:
                    self._say(place, clip_name=words)

    def _last(self) -> int:
        return len(self.events) - 1 if self.about is None else self.about

    def _say(self, place: int, **words) -> None:
        self.events[place] = replace(self.events[place], **words)

    def _remark(self, number: int, why: str) -> None:
        if len(self.remarks) < MOST_REMARKS:
            self.remarks.append(f"Line {number} {why}.")
        elif len(self.remarks) == MOST_REMARKS:
            self.remarks.append("More lines could not be read.")


def _middle(text: str) -> tuple[str, str, str, int]:
    """Reel, channels, edit and its length, from the right: a reel may be of any number of words, or of none."""
    words = _KEY.sub(r"K\1 \2", text).split()
    effect = 0
    if len(words) > 1 and _LENGTH.fullmatch(words[-1]) and _EDIT.fullmatch(words[-2].upper()):
        effect = int(words.pop())
    edit = words.pop().upper() if words and _EDIT.fullmatch(words[-1].upper()) else ""
    channels = words.pop().upper() if words and _CHANNELS.fullmatch(words[-1]) else ""
    return " ".join(words), channels, edit, effect
