"""Selects lists: ordered pulls of selects, and handing them to the editor."""

import uuid
from collections.abc import Sequence

from django.db import IntegrityError, transaction

from review import access, roles
from review.exports import FORMATS, ExportFile, ExportRefused, bundle
from review.exports.pull import Event
from review.exports.pull import SelectsList as Pull
from review.models import ListEntry, Person, Production, Select, SelectsList
from review.refusals import Conflict, Refusal


def make(person: Person, production: Production, name: str, select_ids: Sequence[uuid.UUID] = ()) -> SelectsList:
    """Make a list of these selects, in this order."""
    access.require(person, production, roles.MAKE_LISTS)
    name = _checked_name(name)
    try:
        with transaction.atomic():
            made = SelectsList.objects.create(production=production, name=name, made_by=person)
            _append(made, select_ids)
    except IntegrityError:
        raise _name_taken(production, name) from None
    return made


def add(person: Person, selects_list: SelectsList, select_ids: Sequence[uuid.UUID]) -> int:
    """Add selects at the end; those that are in the list already stay where they are. Returns how many were new."""
    access.require(person, selects_list.production, roles.MAKE_LISTS)
    with transaction.atomic():
        locked = SelectsList.objects.select_for_update().get(id=selects_list.id)
        added = _append(locked, select_ids)
        if added:
            _touch(locked)
    return added


def change(
    person: Person,
    selects_list: SelectsList,
    version: int,
    *,
    name: str | None = None,
    select_ids: Sequence[uuid.UUID] | None = None,
) -> SelectsList:
    """Give the list this name, or exactly these selects in this order, if it still is at `version`."""
    access.require(person, selects_list.production, roles.MAKE_LISTS)
    try:
        with transaction.atomic():
            locked = SelectsList.objects.select_for_update().get(id=selects_list.id)
            if locked.version != version:
                raise Conflict("Somebody changed this list since you saw it; look at it and do it again.", locked)
            if name is not None:
                locked.name = _checked_name(name)
            if select_ids is not None:
                _set_order(locked, select_ids)
            _touch(locked)
    except IntegrityError:
        raise _name_taken(selects_list.production, name) from None
    return locked


def _checked_name(name: str) -> str:
    name = " ".join("".join(c if c.isprintable() else " " for c in name).split())
    if not 1 <= len(name) <= 200:
        raise Refusal("A list needs a name of up to 200 characters.", "name")
    return name


def _name_taken(production: Production, name: str | None) -> Refusal:
    return Refusal(f"{production.code} has a list named {name!r} already; choose another name.", "name")


def _set_order(selects_list: SelectsList, select_ids: Sequence[uuid.UUID]) -> None:
    """What was deleted meanwhile is not shown, so it cannot be named: it keeps its place in the list, at the end."""
    deleted = list(
        selects_list.entries.exclude(select__deleted=None)
        .exclude(select__in=select_ids)
        .values_list("select_id", flat=True)
    )
    here = set(selects_list.entries.values_list("select_id", flat=True))
    wanted = list(dict.fromkeys(select_ids))
    _require_usable(selects_list, [each for each in wanted if each not in here])
    selects_list.entries.all().delete()
    _write(selects_list, [*wanted, *deleted], start=0)


def _append(selects_list: SelectsList, select_ids: Sequence[uuid.UUID]) -> int:
    here = set(selects_list.entries.values_list("select_id", flat=True))
    new = [each for each in dict.fromkeys(select_ids) if each not in here]
    _require_usable(selects_list, new)
    last = selects_list.entries.order_by("-position").values_list("position", flat=True).first()
    _write(selects_list, new, start=0 if last is None else last + 1)
    return len(new)


def _write(selects_list: SelectsList, select_ids: Sequence[uuid.UUID], start: int) -> None:
    ListEntry.objects.bulk_create(
        [ListEntry(list=selects_list, select_id=each, position=at) for at, each in enumerate(select_ids, start)],
        batch_size=500,
    )


def _require_usable(selects_list: SelectsList, select_ids: Sequence[uuid.UUID]) -> None:
    usable = Select.objects.filter(clip__card__production=selects_list.production, deleted=None).in_bulk(select_ids)
    unknown = [each for each in select_ids if each not in usable]
    if unknown:
        raise Refusal(
            f"{len(unknown)} of these are not selects of {selects_list.production.code} (or were deleted): "
            f"{', '.join(map(str, unknown[:3]))}{'…' if len(unknown) > 3 else ''}",
            "selects",
        )


def _touch(selects_list: SelectsList) -> None:
    selects_list.version += 1
    selects_list.save(update_fields=["name", "version", "modified"])


def pull(selects_list: SelectsList) -> Pull:
    """The list as the export writers take it. Selects deleted since are left out."""
    entries = (
        selects_list.entries.filter(select__deleted=None)
        .select_related("select__clip__card", "select__logger")
        .prefetch_related("select__tags")
    )
    return Pull(
        title=selects_list.name,
        production=selects_list.production.code,
        events=tuple(_event(entry.select) for entry in entries),
    )


def _event(select: Select) -> Event:
    clip, card = select.clip, select.clip.card
    (file, *more_files), held = clip.files_of(select.in_frame, select.out_frame)
    return Event(
        card=card.name,
        reel=card.reel,
        camera=card.camera,
        shoot_date=card.shoot_date,
        file=file,
        clip=clip.name,
        timebase=clip.timebase,
        clip_start=clip.start_frame,
        clip_frames=clip.frames,
        in_frame=select.in_frame,
        out_frame=select.out_frame,
        has_picture=clip.kind == clip.Kind.VIDEO,
        channels=clip.channels,
        source_timecode=clip.has_source_timecode,
        tags=tuple(tag.name for tag in select.tags.all()),
        note=select.note,
        rating=select.rating,
        logger=str(select.logger),
        select_id=str(select.id),
        more_files=tuple(more_files),
        held=held,
    )


def export(selects_list: SelectsList, kind: str) -> ExportFile:
    """The list as one file: 'edl', 'csv' or 'otio'; several EDLs come in a zip. Raises Refusal."""
    if kind not in FORMATS:
        raise Refusal(f"{kind!r} is not a format; use one of {', '.join(FORMATS)}.", "as")
    try:
        return bundle(FORMATS[kind](pull(selects_list)))
    except ExportRefused as problem:
        raise Refusal(str(problem), "selects") from None


def export_by(person: Person, selects_list: SelectsList, kind: str) -> ExportFile:
    access.require(person, selects_list.production, roles.EXPORT)
    return export(selects_list, kind)
