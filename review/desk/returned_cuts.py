"""Cuts that come back from editing: taken in, their events looked for among the cards, looked for again, told by
people which clip they are of, forgotten."""

from hashlib import sha256

from django.db import IntegrityError, transaction

from review import cuts, roles
from review.crew import access
from review.crew.activity import happened
from review.cuts.text import MOST_BYTES
from review.models import Activity, Clip, Cut, CutEvent, Person, Production
from review.refusals import NotFound, Refusal
from review.timecode import Rate, Timebase, TimecodeError

_MOST_WHY = CutEvent._meta.get_field("why").max_length


def take_in(
    person: Person, production: Production, file_name: str, content: bytes, *, name: str = "", rate: Rate | None = None
) -> Cut:
    """Read a cut list and look for its events. `rate` is what its labels count in, else the production's.

    It is kept as it came. Raises Refusal for what is no cut list, and for one that is here already.
    """
    access.require(person, production, roles.TAKE_IN_CUTS)
    if not content:
        raise Refusal("There is nothing in it. Export the sequence as a CMX3600 EDL and choose that file.", "content")
    rate = rate or production.timebase.rate
    read = _read(content, rate)
    digest = sha256(content).hexdigest()
    known = production.cuts.filter(sha256=digest).select_related("given_by").first()
    if known:
        raise _here_already(known)
    found = _footage(production, rate).find(read.events)
    try:
        with transaction.atomic():
            cut = Cut.objects.create(
                production=production,
                name=_checked_name(name or read.title or file_name),
                file_name=_tidy(file_name)[-255:],
                content=content,
                sha256=digest,
                rate_numerator=rate.numerator,
                rate_denominator=rate.denominator,
                given_by=person,
                remarks=list(read.remarks),
            )
            CutEvent.objects.bulk_create(_rows(cut, read, found), batch_size=500)
            _tell(person, cut, "took in", f"the cut “{cut.name}”: {_sum(found)}")
    except IntegrityError:
        raise _here_already(production.cuts.select_related("given_by").get(sha256=digest)) from None
    return cut


def read_rate(text: str) -> Rate | None:
    """Raises Refusal for a rate that nobody shoots; None for nothing."""
    if not text.strip():
        return None
    try:
        return Rate.parse(text)
    except TimecodeError as problem:
        raise Refusal(f"The rate is wrong: {problem}.", "rate") from None


def look_again(person: Person, cut: Cut, rate: Rate | None = None) -> Cut:
    """Look for the events once more: cards may have come since, or the list counts in another rate. What people chose
    stays, as long as that clip holds the event's timecode."""
    access.require(person, cut.production, roles.TAKE_IN_CUTS)
    rate, choices = rate or _rate(cut), _choices(cut)
    read = _read(bytes(cut.content), rate)
    found = _footage(cut.production, rate).find(read.events, choices)
    with transaction.atomic():
        cut = _locked(cut, choices)
        cut.rate_numerator, cut.rate_denominator, cut.remarks = rate.numerator, rate.denominator, list(read.remarks)
        cut.save(update_fields=["rate_numerator", "rate_denominator", "remarks"])
        cut.events.all().delete()
        CutEvent.objects.bulk_create(_rows(cut, read, found), batch_size=500)
        _tell(person, cut, "looked again", f"for the cut “{cut.name}” at {rate} fps: {_sum(found)}")
    return cut


def choose(person: Person, cut: Cut, line: int, clip_id: int | None) -> CutEvent:
    """Say which clip the event of a line of the file is of; None leaves it to the list again. Raises Refusal for a clip
    that does not hold its timecode."""
    access.require(person, cut.production, roles.TAKE_IN_CUTS)
    seen, before = _choices(cut), cut.events.filter(line=line).first()
    if before is None:
        raise NotFound(f"The cut has no event in line {line}.", "line")
    if clip_id is None and not before.chosen_by:
        return before
    choice = None if clip_id is None else cuts.Choice(clip_id, person.username)
    read = _read(bytes(cut.content), _rate(cut))
    found = _footage(cut.production, _rate(cut)).find_one(read.events, line, choice)
    if found.choice != choice:
        raise Refusal(f"That clip does not hold the timecode of {before}; choose another.", "clip")
    with transaction.atomic():
        cut = _locked(cut, seen)
        event = cut.events.get(line=line)
        for name, value in _meant(found).items():
            setattr(event, name, value)
        event.save()
        if choice:
            _tell(person, cut, "chose", f"{event.card.name} {event.clip.name} for {event} of the cut “{cut.name}”")
        else:
            _tell(person, cut, "took back", f"what was chosen for {event} of the cut “{cut.name}”")
    return event


def forget(person: Person, cut: Cut) -> None:
    """Take a cut away, with the marks that it made on selects. The same file can be taken in again."""
    access.require(person, cut.production, roles.TAKE_IN_CUTS)
    with transaction.atomic():
        _tell(person, cut, "forgot", f"the cut “{cut.name}” ({cut.file_name})")
        cut.delete()


def _read(content: bytes, rate: Rate) -> cuts.CutList:
    if len(content) > MOST_BYTES:
        raise Refusal(f"The file has {len(content):,} bytes; a cut list has at most {MOST_BYTES:,}.", "content")
    try:
        read = cuts.read(content)
    except cuts.CutUnreadable as problem:
        raise Refusal(str(problem), "content") from None
    for event in read.events:
        if not event.unread and max(int(event.record_in[9:]), int(event.record_out[9:])) >= rate.nominal:
            raise Refusal(
                f"Line {event.line} ends at {event.record_out}, and a second has {rate.nominal} frames at {rate} fps. "
                "Choose the rate that this list counts in.",
                "rate",
            )
    return read


def _rate(cut: Cut) -> Rate:
    return Rate(cut.rate_numerator, cut.rate_denominator)


def _choices(cut: Cut) -> dict[int, cuts.Choice]:
    """Line of the file -> what a person chose for its event."""
    chosen = (event for event in cut.events.only("line", "nearest") if event.chosen_by)
    return {event.line: cuts.Choice(event.nearest[0]["clip"], event.chosen_by) for event in chosen}


def _locked(cut: Cut, choices: dict[int, cuts.Choice]) -> Cut:
    """The cut, which nobody else changes meanwhile; Refusal if somebody did since `choices` were read."""
    locked = Cut.objects.select_for_update(of=("self",)).select_related("production").get(id=cut.id)
    if _rate(locked) != _rate(cut) or _choices(locked) != choices:
        raise Refusal("Somebody changed this cut meanwhile; look at it again, and repeat.")
    return locked


def _footage(production: Production, rate: Rate) -> cuts.Footage:
    return cuts.Footage(known_clips(production), Timebase(rate))


def known_clips(production: Production) -> list[cuts.KnownClip]:
    """All of a production's clips as cut lists are matched with, whatever state their cards are in."""
    clips = Clip.objects.filter(card__production=production, frames__gt=0).select_related("card").order_by("id")
    return [
        cuts.KnownClip(
            clip.id,
            clip.card_id,
            clip.card.name,
            clip.card.reel,
            clip.name,
            tuple(clip.essence),
            clip.timebase,
            clip.start_frame,
            clip.frames,
            clip.has_source_timecode,
        )
        for clip in clips.defer("probe", "filmstrip", "notes", "card__findings").iterator(2000)
    ]


def _rows(cut: Cut, read: cuts.CutList, found: list[cuts.Found]) -> list[CutEvent]:
    return [
        CutEvent(
            cut=cut,
            place=place,
            number=event.number,
            reel=event.reel,
            clip_name=event.clip_name or event.file,
            channels=event.channels,
            edit=event.edit_words,
            speed=event.speed,
            source_in=event.source_in,
            source_out=event.source_out,
            record_in=event.record_in,
            record_out=event.record_out,
            line=event.line,
            **_meant(meant),
        )
        for place, (event, meant) in enumerate(zip(read.events, found, strict=True))
    ]


def _meant(found: cuts.Found) -> dict:
    """What an event keeps of it."""
    chosen = [{"clip": found.choice.clip_id, "chosen_by": found.choice.by}] if found.choice else []
    return {
        "sure": found.sure,
        "why": found.why if len(found.why) <= _MOST_WHY else found.why[: _MOST_WHY - 1] + "…",
        "card_id": found.clip and found.clip.card_id,
        "clip_id": found.clip and found.clip.id,
        "in_frame": found.in_frame,
        "out_frame": found.out_frame,
        "nearest": [*chosen, *found.nearest],
    }


def _sum(found: list[cuts.Found]) -> str:
    counts = {sure: sum(each.sure == sure for each in found) for sure in CutEvent.Sure.values}
    words = f"{len(found)} events, {counts['sure']} sure, {counts['likely']} likely"
    return f"{words}, {counts['lost']} not found" if counts["lost"] else words


def _tell(person: Person, cut: Cut, did: str, words: str) -> None:
    happened(cut.production, person, did, words, Activity.About.PRODUCTION, cut.id)


def _here_already(cut: Cut) -> Refusal:
    return Refusal(
        f"This very file was taken in already, as “{cut.name}”, by {cut.given_by} on {cut.given_at:%d %B %Y}. "
        "If cards have come since, open it and look again.",
        "content",
    )


def _checked_name(name: str) -> str:
    name = _tidy(name)
    if not name:
        raise Refusal("Give the cut a name that people will know it by.", "name")
    return name[:200]


def _tidy(text: str) -> str:
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())
