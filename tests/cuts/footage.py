"""Clips for the tests of matching."""

from review.cuts import Footage, Found, KnownClip, read
from review.timecode import Rate, Timebase

PAL = Timebase(Rate(25))


def clip(name="A001C001", card="KB04-261112-A01", start="10:00:00:00", frames=250, timebase=PAL, **facts) -> KnownClip:
    """Ten seconds from 10:00:00:00, unless it is said otherwise."""
    clip.made += 1
    day = card[4:] if card[0].isdigit() else "".join(card.split("-")[1:])[1:]
    usual = {"reel": day, "files": (f"CLIP/{name}.MOV",), "start": timebase.frame(start), "card_id": hash(card)}
    return KnownClip(**(usual | facts), id=clip.made, card=card, name=name, timebase=timebase, frames=frames)


clip.made = 0


def find(clips, *lines: str, listed=PAL) -> list[Found]:
    return Footage(clips, listed).find(read("\n".join(lines).encode()).events)


def line(reel="61112A01", times="10:00:02:00 10:00:04:00", record="01:00:00:00 01:00:02:00", number="001") -> str:
    return f"{number}  {reel} V     C        {times} {record}"
