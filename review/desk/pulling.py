"""What a list pulls: its entries as they are cut there, with trims and handles, and as events for the exports.

A trim and a handle belong to the list; the select stays as it was marked.
"""

import uuid
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

from django.db.models import QuerySet

from review.exports import Event
from review.exports import SelectsList as Pull
from review.exports.joining import Handled, Shared, merged, shared, with_handles
from review.models import Clip, ListEntry, Person, Select, SelectsList
from review.timecode import Timebase


@dataclass
class Placed:
    """An entry at its place, counted from 1. `shared` says whether it shows what another entry shows too, and `twin` is
    that one."""

    place: int
    entry: ListEntry
    timebase: Timebase
    milliseconds: int  # of handle
    tags: tuple[str, ...] = ()
    shared: Shared | None = None
    twin: "Placed | None" = None

    @property
    def select(self) -> Select:
        return self.entry.select

    @property
    def clip(self) -> Clip:
        return self.entry.select.clip

    @property
    def in_frame(self) -> int:
        """The first frame without its handle: of the list's trim, or as it was marked."""
        return self.select.in_frame if self.entry.in_frame is None else self.entry.in_frame

    @property
    def out_frame(self) -> int:
        return self.select.out_frame if self.entry.out_frame is None else self.entry.out_frame

    @property
    def trimmed(self) -> bool:
        return self.entry.in_frame is not None

    @cached_property
    def handled(self) -> Handled:
        return with_handles(self.in_frame, self.out_frame, self.clip.frames, self.milliseconds, self.timebase.rate)

    @property
    def frames(self) -> int:
        """How long it runs in the list, handles and all."""
        return self.handled.out_frame - self.handled.in_frame

    @property
    def seconds(self) -> Fraction:
        return self.timebase.rate.seconds(self.frames)


def placed(selects_list: SelectsList) -> list[Placed]:
    """The list's entries in order; those whose select was deleted since are left out."""
    entries = selects_list.entries.filter(select__deleted=None).select_related("select")
    _attach(selects_list, entries)
    tags = _tags(selects_list)
    known: dict[Timebase, Timebase] = {}  # one object each: those that write the events compare them often
    of_clip = {entry.select.clip_id: entry.select.clip.timebase for entry in entries}
    timebases = {clip: known.setdefault(timebase, timebase) for clip, timebase in of_clip.items()}
    rows = [
        Placed(
            place, entry, timebases[entry.select.clip_id], selects_list.handles, tuple(tags.get(entry.select_id, ()))
        )
        for place, entry in enumerate(entries, 1)
    ]
    for at, found in shared([(row.clip.id, row.handled.in_frame, row.handled.out_frame) for row in rows]).items():
        rows[at].shared, rows[at].twin = found, rows[found.other]
    return rows


def _attach(selects_list: SelectsList, entries: Iterable[ListEntry]) -> None:
    """The sections, clips and loggers of `entries`, each read once: a clip gives many selects."""
    sections = {section.id: section for section in selects_list.sections.all()}
    clips = _in_bulk(
        Clip.objects.select_related("card").defer("probe", "sidecars", "sound_files", "notes", "card__findings"),
        {entry.select.clip_id for entry in entries},
    )
    people = _in_bulk(Person.objects.all(), {entry.select.logger_id for entry in entries})
    for entry in entries:
        entry.section = sections.get(entry.section_id)
        entry.select.clip, entry.select.logger = clips[entry.select.clip_id], people[entry.select.logger_id]


def _tags(selects_list: SelectsList) -> dict[uuid.UUID, list[str]]:
    """Select id -> the names of its tags, in their order."""
    pairs = Select.tags.through.objects.filter(select__in=selects_list.entries.values("select"))
    names: dict[uuid.UUID, list[str]] = {}
    for select_id, name in pairs.order_by("tag__group", "tag__name").values_list("select", "tag__name"):
        names.setdefault(select_id, []).append(name)
    return names


def _in_bulk(rows: QuerySet, ids: Iterable[int]) -> dict:
    ids = sorted(ids)
    return {
        key: row for start in range(0, len(ids), 500) for key, row in rows.in_bulk(ids[start : start + 500]).items()
    }


def merges(selects_list: SelectsList) -> bool:
    """Whether selects of one clip that touch or overlap become one event."""
    return bool(selects_list.options.get("merge"))


def events(selects_list: SelectsList, rows: Iterable[Placed] | None = None) -> tuple[Event, ...]:
    """What `rows` (all of the list, if not given) are when they are pulled. Raises ExportRefused for an entry that is
    no longer inside its clip."""
    made = [_event(row) for row in (placed(selects_list) if rows is None else rows)]
    return tuple(merged(made) if merges(selects_list) else made)


def pull(selects_list: SelectsList) -> Pull:
    """The list as the export writers take it. Raises ExportRefused when there is nothing in it."""
    return Pull(title=selects_list.name, production=selects_list.production.code, events=events(selects_list))


def running(pulled: Iterable[Event | Placed]) -> Fraction:
    """How long these run, in seconds by the clock."""
    return sum((each.timebase.rate.seconds(_frames(each)) for each in pulled), start=Fraction(0))


def _frames(each: Event | Placed) -> int:
    return each.length if isinstance(each, Event) else each.frames


def _event(row: Placed) -> Event:
    select, clip, card = row.select, row.clip, row.clip.card
    (file, *more_files), held = clip.files_of(row.handled.in_frame, row.handled.out_frame)
    return Event(
        card=card.name,
        reel=card.reel,
        camera=card.camera,
        shoot_date=card.shoot_date,
        file=file,
        clip=clip.name,
        timebase=row.timebase,
        clip_start=clip.start_frame,
        clip_frames=clip.frames,
        in_frame=row.handled.in_frame,
        out_frame=row.handled.out_frame,
        has_picture=clip.kind == clip.Kind.VIDEO,
        channels=clip.channels,
        source_timecode=clip.has_source_timecode,
        tags=row.tags,
        note=select.note,
        rating=select.rating,
        logger=str(select.logger),
        select_id=str(select.id),
        more_files=tuple(more_files),
        held=held,
        section=row.entry.section.title if row.entry.section else "",
        handles=row.handled.handles,
        clipped=row.handled.clipped,
    )
