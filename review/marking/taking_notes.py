"""Taking field notes from a CSV: a preview says what each line would be tied to and what is wrong with it, before
anything is taken. Lines that match nothing are taken too, because the card they belong to may come later."""

import math
from dataclasses import dataclass

from django.db import transaction

from review import roles
from review.crew import access, activity
from review.field_notes_csv import Line, read_csv
from review.models import Clip, FieldNote, Person, Production
from review.record import findables
from review.record.field_notes import Rolling


@dataclass(frozen=True)
class Preview:
    """What taking a file would do: each good line with the clips that were rolling, and the lines that are not."""

    matched: list[tuple[Line, list[tuple[Clip, int]]]]
    unmatched: list[Line]
    bad: list[Line]
    known: int  # lines that were taken before


def preview(person: Person, production: Production, data: bytes) -> Preview:
    access.require(person, production, roles.TAKE_NOTES)
    lines = read_csv(data, production.timebase)
    good = [line for line in lines if not line.problem]
    digests = {line.digest for line in good}
    taken = set(production.field_notes.filter(digest__in=list(digests)[:900]).values_list("digest", flat=True))
    if len(digests) > 900:
        taken = digests & set(production.field_notes.values_list("digest", flat=True))
    fresh = [line for line in good if line.digest not in taken]
    matched, unmatched = [], []
    rolling = Rolling(production)
    for line in fresh:
        clips = rolling.at(line.day, line.at, line.camera)
        if clips:
            matched.append((line, clips))
        else:
            unmatched.append(line)
    return Preview(matched, unmatched, [line for line in lines if line.problem], len(good) - len(fresh))


def take(person: Person, production: Production, data: bytes) -> int:
    """Take the file's good lines; one that was taken before is not taken twice. Returns how many are new."""
    access.require(person, production, roles.TAKE_NOTES)
    good = {line.digest: line for line in read_csv(data, production.timebase) if not line.problem}
    with transaction.atomic():
        before = production.field_notes.count()
        notes = [
            FieldNote(
                production=production,
                day=line.day,
                timecode=line.timecode,
                at=math.ceil(line.at * 1_000_000),  # never before the frame that it names
                camera=line.camera,
                text=line.text,
                tag=line.tag,
                digest=digest,
                taken_by=person,
            )
            for digest, line in good.items()
        ]
        FieldNote.objects.bulk_create(notes, ignore_conflicts=True, batch_size=500)
        taken = production.field_notes.count() - before
        if taken:
            words = f"{taken} field note{'' if taken == 1 else 's'}"
            activity.happened(production, person, "took", words, activity.About.NOTE)
            findables.look_again(production, {line.day for line in good.values()})
        return taken


def delete(person: Person, note: FieldNote) -> None:
    access.require(person, note.production, roles.TAKE_NOTES)
    with transaction.atomic():
        words = f"the field note of {note.day:%Y-%m-%d} {note.timecode}: {note.text}"
        activity.happened(note.production, person, "deleted", words, activity.About.NOTE, note.id)
        note.delete()
        findables.look_again(note.production, {note.day})
