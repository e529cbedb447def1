"""Marking selects: making, changing, deleting and bringing back.

A select's id is made by whoever marks it, so sending it twice is harmless. A change names the
version it was made from; if somebody else was faster, the change is refused and both are shown.
"""

import re
import uuid
from collections.abc import Sequence
from dataclasses import dataclass, field

from django.db import IntegrityError, transaction
from django.db.models import F
from django.utils import timezone

from review import roles
from review.crew import access, activity
from review.marking import tagging
from review.models import Clip, Person, Production, Select, Tag
from review.record import clip_tags, findables
from review.refusals import Conflict, NotFound, Refusal

LONGEST_NOTE = 10_000  # characters
MOST_TAGS = 50
_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]")


@dataclass(frozen=True)
class Mark:
    """What a select says: frames [in_frame, out_frame) of a clip, and what is worth saying of them."""

    in_frame: int
    out_frame: int
    tags: Sequence[str] = field(default_factory=tuple)
    note: str = ""
    rating: int = 0  # 0 (none) to 5


def put(
    person: Person, select_id: uuid.UUID, clip: Clip, mark: Mark, version: int, *, marked: str = "marked"
) -> Select:
    """Make the select (version 0) or change it from `version`. A deleted one comes back. `marked` is the word that
    the record of what happened has for making it.

    Raises Refusal for a mark that cannot be, Conflict when the select is past `version` already and
    says something else.
    """
    access.require(person, clip.card.production, roles.MARK)
    mark = _checked(clip, mark)
    for _ in range(3):
        try:
            return _put(person, select_id, clip, mark, version, marked)
        except IntegrityError as problem:
            raced = problem  # it, or a tag of it, was made in this very moment: now it is there
    raise raced


def _put(person: Person, select_id: uuid.UUID, clip: Clip, mark: Mark, version: int, marked: str) -> Select:
    with transaction.atomic():
        # The clip's row is the lock: marks on one clip are written one after the other.
        Clip.objects.select_for_update().get(id=clip.id)
        select = Select.objects.select_for_update(of=("self",)).filter(id=select_id).first()
        if select is not None and select.clip_id != clip.id:
            _refuse_other_clip(person, select)
        tags = _tags(clip.card.production, mark.tags)
        if select is None:
            return _make(person, select_id, clip, mark, tags, version, marked)
        return _change(person, select, clip, mark, tags, version)


def _make(person, select_id, clip, mark: Mark, tags: list[Tag], version: int, marked: str) -> Select:
    if version != 0:
        raise NotFound("There is no such select; a new one starts from version 0.", "version")
    select = Select.objects.create(
        id=select_id,
        clip=clip,
        in_frame=mark.in_frame,
        out_frame=mark.out_frame,
        note=mark.note,
        rating=mark.rating,
        logger=person,
    )
    select.tags.set(tags)
    _count(clip, 1)
    clip_tags.keep([clip.id])
    findables.keep([select])
    _happened(person, marked, select, clip, ", ".join(tag.name for tag in tags))
    return select


def _count(clip: Clip, more: int) -> None:
    Clip.objects.filter(id=clip.id).update(select_count=F("select_count") + more)


def _happened(person: Person, did: str, select: Select, clip: Clip, more: str = "") -> None:
    words = f"{clip} {clip.label(select.in_frame)} – {clip.label(select.out_frame)}{': ' if more else ''}{more}"
    activity.happened(clip.card.production, person, did, words, activity.About.SELECT, select.id, clip=clip)


def _change(person: Person, select: Select, clip: Clip, mark: Mark, tags: list[Tag], version: int) -> Select:
    if select.deleted is None and _says(select, mark, tags):
        return select  # the same thing, sent again
    if version != select.version:
        raise Conflict(
            "Somebody changed this select since you saw it. Look at what it says now and choose which to keep.",
            select,
        )
    did, changes = ("changed" if select.deleted is None else "brought back"), _differs(select, mark, tags)
    select.in_frame, select.out_frame = mark.in_frame, mark.out_frame
    select.note, select.rating = mark.note, mark.rating
    if select.deleted is not None:
        _count(clip, 1)
    select.deleted = None
    select.version += 1
    select.save()
    select.tags.set(tags)
    clip_tags.keep([clip.id])
    findables.keep([select])
    _happened(person, did, select, clip, ", ".join(changes))
    return select


def _refuse_other_clip(person: Person, select: Select):
    if not access.selects(person).filter(id=select.id).exists():
        raise Refusal("This id is taken; make a new one.", "id")
    raise Refusal(f"This select is on another clip ({select.clip}); a select cannot move to another clip.", "clip")


def delete(person: Person, select: Select, version: int | None = None) -> Select:
    """Take a select away. It is kept, and putting it again from its new version brings it back."""
    access.require(person, select.clip.card.production, roles.MARK)
    with transaction.atomic():
        Clip.objects.select_for_update().get(id=select.clip_id)  # first, as `put` does
        select = Select.objects.select_for_update(of=("self",)).get(id=select.id)
        if select.deleted is not None:
            return select
        if version is not None and version != select.version:
            raise Conflict("Somebody changed this select since you saw it; look at it before you delete it.", select)
        select.deleted = timezone.now()
        select.version += 1
        select.save(update_fields=["deleted", "version", "modified"])
        _count(select.clip, -1)
        clip_tags.keep([select.clip_id])
        findables.keep([select])
        _happened(person, "deleted", select, select.clip)
    return select


def _says(select: Select, mark: Mark, tags: list[Tag]) -> bool:
    return not _differs(select, mark, tags)


def _differs(select: Select, mark: Mark, tags: list[Tag]) -> list[str]:
    """What a mark says otherwise than the select, in words."""
    clip = select.clip
    differences = [
        (select.in_frame != mark.in_frame, f"in from {clip.label(select.in_frame)}"),
        (select.out_frame != mark.out_frame, f"out from {clip.label(select.out_frame)}"),
        (select.rating != mark.rating, f"rated {mark.rating}, was {select.rating}"),
        (select.note != mark.note, "the note"),
        (set(select.tags.all()) != set(tags), f"tags: {', '.join(tag.name for tag in tags) or 'none'}"),
    ]
    return [words for differs, words in differences if differs]


def _checked(clip: Clip, mark: Mark) -> Mark:
    if mark.in_frame < 0:
        raise Refusal("The in point is before the clip's first frame, 0.", "in_frame")
    if mark.out_frame <= mark.in_frame:
        raise Refusal(
            f"The out point ({mark.out_frame}) must be after the in point ({mark.in_frame}); "
            "a select holds at least one frame.",
            "out_frame",
        )
    if mark.out_frame > clip.frames:
        raise Refusal(
            f"The out point ({mark.out_frame}) is past the clip's end; {clip.name} has {clip.frames} frames.",
            "out_frame",
        )
    if not 0 <= mark.rating <= 5:
        raise Refusal("A rating goes from 0 (none) to 5.", "rating")
    note = _CONTROL.sub("", mark.note.replace("\r\n", "\n").replace("\r", "\n")).strip()
    if len(note) > LONGEST_NOTE:
        raise Refusal(f"The note has {len(note):,} characters; {LONGEST_NOTE:,} is the most.", "note")
    return Mark(mark.in_frame, mark.out_frame, _tag_names(mark.tags), note, mark.rating)


def _tag_names(names: Sequence[str]) -> tuple[str, ...]:
    tidy: dict[str, str] = {}
    for name in ",".join(names).split(","):  # a comma stands between tags wherever they are listed
        name = " ".join(_CONTROL.sub("", name).split())
        if not name:
            continue
        if len(name) > 60:
            raise Refusal(f"The tag '{name[:40]}…' has {len(name)} characters; 60 is the most.", "tags")
        tidy.setdefault(name.casefold(), name)
    if len(tidy) > MOST_TAGS:
        raise Refusal(f"{len(tidy)} tags on one select; {MOST_TAGS} is the most.", "tags")
    return tuple(tidy[key] for key in sorted(tidy))


def _tags(production: Production, names: Sequence[str]) -> list[Tag]:
    """The production's tags of these names; a word that is new to it becomes one."""
    if not names:
        return []
    known = {tag.folded: tag for tag in production.tags.all()}
    return [known.get(name.casefold()) or tagging.know(production, name) for name in names]
