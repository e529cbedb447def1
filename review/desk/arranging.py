"""Putting a list in order: moving, taking out, trimming and sorting its entries, and its sections.

Each takes the version of the list that it was meant for (see lists.changing).
"""

import uuid
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from review.desk.lists import MOST_ENTRIES, changing, require_usable
from review.models import ListEntry, ListSection, Person, Select, SelectsList
from review.record import angles
from review.refusals import Refusal

MOST_SECTIONS = 200
LONGEST_TITLE = 120


@dataclass(frozen=True)
class _Row:
    select_id: uuid.UUID
    in_frame: int | None = None
    out_frame: int | None = None


_Blocks = dict[int | None, list[_Row]]  # by section, in their order; without one first


def move(
    person: Person,
    selects_list: SelectsList,
    version: int,
    select_ids: Sequence[uuid.UUID],
    *,
    before: uuid.UUID | None = None,
    section: int | None = None,
) -> SelectsList:
    """Put these selects, in this order, before another one; or at the end of a section (None: before the first
    section). Those that are not in the list yet come into it."""
    with changing(person, selects_list, version, "put in order") as locked:
        blocks = _blocks(locked)
        here = {row.select_id: row for rows in blocks.values() for row in rows}
        wanted = list(dict.fromkeys(select_ids))
        new = [each for each in wanted if each not in here]
        require_usable(locked, new)
        if len(here) + len(new) > MOST_ENTRIES:
            raise Refusal(f"A list holds {MOST_ENTRIES:,} selects: begin another.", "selects")
        moving = set(wanted) - {before}
        kept = {key: [row for row in rows if row.select_id not in moving] for key, rows in blocks.items()}
        rows = [here.get(each, _Row(each)) for each in wanted if each != before]
        if before is None:
            _block(kept, section).extend(rows)
        else:
            key, at = _place(kept, before)
            kept[key][at:at] = rows
        _write(locked, kept)
    return locked


def take_out(person: Person, selects_list: SelectsList, version: int, select_ids: Sequence[uuid.UUID]) -> SelectsList:
    """Take these selects out of the list; the selects themselves stay."""
    with changing(person, selects_list, version, "took selects out of") as locked:
        gone = set(select_ids)
        blocks = {key: [row for row in rows if row.select_id not in gone] for key, rows in _blocks(locked).items()}
        _write(locked, blocks)
    return locked


def trim(
    person: Person,
    selects_list: SelectsList,
    version: int,
    select_id: uuid.UUID,
    in_frame: int | None,
    out_frame: int | None,
) -> tuple[SelectsList, str]:
    """Cut a select in this list to [in_frame, out_frame) of its clip, or (both None) as it was marked. Frames before
    the clip's first or after its last are left out; the words that come back say so, if any were."""
    with changing(person, selects_list, version, "trimmed selects in") as locked:
        entry = locked.entries.select_related("select__clip").filter(select=select_id, select__deleted=None).first()
        if entry is None:
            raise Refusal("This select is not in the list (any more).", "selects")
        said = ""
        select, clip = entry.select, entry.select.clip
        if (in_frame is None) != (out_frame is None):
            raise Refusal("A trim has an in and an out; leave both out to cut as it was marked.", "in_frame")
        if in_frame is not None:
            first, last = max(0, in_frame), min(clip.frames, out_frame)
            if first >= last:
                raise Refusal(
                    f"The out must come after the in, and both inside the clip, which has {clip.frames} frames.",
                    "in_frame",
                )
            if (first, last) != (in_frame, out_frame):
                said = f"{clip.name} has nothing before {clip.label(0)} and after {clip.label(clip.frames)}: cut there."
            in_frame, out_frame = first, last
            if (first, last) == (select.in_frame, select.out_frame):
                in_frame = out_frame = None
        entry.in_frame, entry.out_frame = in_frame, out_frame
        entry.save(update_fields=["in_frame", "out_frame"])
    return locked, said


def sort(person: Person, selects_list: SelectsList, version: int, by: str) -> SelectsList:
    """Sort each section by 'shot' (the production's clock), 'card' (then timecode) or 'rating' (the best first). What
    is alike stays in its order."""
    if by not in _SORTS:
        raise Refusal(f"A list is sorted by one of {', '.join(_SORTS)}, not {by!r}.", "by")
    with changing(person, selects_list, version, f"sorted by {by}") as locked:
        selects = {
            each.id: each
            for each in Select.objects.filter(entries__list=locked)
            .select_related("clip__card")
            .defer("clip__probe", "clip__files", "clip__file_frames", "clip__sidecars", "clip__card__findings")
        }
        blocks = {
            key: sorted(rows, key=lambda row: _SORTS[by](selects[row.select_id], row))
            for key, rows in _blocks(locked).items()
        }
        _write(locked, blocks)
    return locked


def add_section(
    person: Person, selects_list: SelectsList, version: int, title: str, before: uuid.UUID | None = None
) -> SelectsList:
    """Begin a section at a select: it takes this one and what comes after it, up to the next section. Without one, an
    empty section at the end."""
    title = _checked_title(title)
    with changing(person, selects_list, version, "divided") as locked:
        blocks = _blocks(locked)
        if len(blocks) > MOST_SECTIONS:
            raise Refusal(f"A list has {MOST_SECTIONS} sections at most.", "title")
        order = list(blocks)
        made = ListSection.objects.create(list=locked, title=title, position=len(order))
        if before is None:
            key, rows = order[-1], []
        else:
            key, at = _place(blocks, before)
            blocks[key], rows = blocks[key][:at], blocks[key][at:]
        order.insert(order.index(key) + 1, made.id)
        blocks[made.id] = rows
        _write(locked, {each: blocks[each] for each in order})
    return locked


def rename_section(person: Person, selects_list: SelectsList, version: int, section: int, title: str) -> SelectsList:
    title = _checked_title(title)
    with changing(person, selects_list, version, "named a section of") as locked:
        if not locked.sections.filter(id=section).update(title=title):
            raise _no_section()
    return locked


def remove_section(person: Person, selects_list: SelectsList, version: int, section: int) -> SelectsList:
    """Take a section's heading away; its selects join what comes before it."""
    with changing(person, selects_list, version, "divided") as locked:
        blocks = _blocks(locked)
        rows, order = _block(blocks, section), list(blocks)
        blocks[order[order.index(section) - 1]].extend(rows)
        del blocks[section]
        _write(locked, blocks)
        locked.sections.filter(id=section).delete()
    return locked


def move_section(person: Person, selects_list: SelectsList, version: int, section: int, by: int) -> SelectsList:
    """Move a section with its selects up (`by` -1) or down (1) past its neighbour, if it has one there."""
    with changing(person, selects_list, version, "put in order") as locked:
        blocks = _blocks(locked)
        _block(blocks, section)
        order = [key for key in blocks if key is not None]
        at = order.index(section)
        order.insert(max(0, at + by), order.pop(at))
        _write(locked, {None: blocks[None], **{key: blocks[key] for key in order}})
    return locked


def _by_shot(select: Select, row: _Row):
    date = select.clip.card.shoot_date
    first = select.in_frame if row.in_frame is None else row.in_frame
    return (date is None, date, angles.time_on(select.clip, first)) if date else (True,)


def _by_card(select: Select, row: _Row):
    first = select.in_frame if row.in_frame is None else row.in_frame
    return select.clip.card.name, select.clip.start_frame, select.clip.name, first


_SORTS: dict[str, Callable] = {"shot": _by_shot, "card": _by_card, "rating": lambda select, _: -select.rating}


def _checked_title(title: str) -> str:
    title = " ".join("".join(c if c.isprintable() else " " for c in title).split())
    if not 1 <= len(title) <= LONGEST_TITLE:
        raise Refusal(f"A section needs a title of up to {LONGEST_TITLE} characters.", "title")
    return title


def _no_section() -> Refusal:
    return Refusal("This section is not in the list (any more).", "section")


def _blocks(selects_list: SelectsList) -> _Blocks:
    blocks: _Blocks = {None: [], **{section.id: [] for section in selects_list.sections.all()}}
    for entry in selects_list.entries.all():
        blocks[entry.section_id].append(_Row(entry.select_id, entry.in_frame, entry.out_frame))
    return blocks


def _block(blocks: _Blocks, section: int | None) -> list[_Row]:
    if section not in blocks:
        raise _no_section()
    return blocks[section]


def _place(blocks: _Blocks, select_id: uuid.UUID) -> tuple[int | None, int]:
    for key, rows in blocks.items():
        for at, row in enumerate(rows):
            if row.select_id == select_id:
                return key, at
    raise Refusal("The select to go before is not in the list (any more).", "before")


def _write(selects_list: SelectsList, blocks: _Blocks) -> None:
    """Make the rows say this; only those that change are written."""
    wanted = {
        row.select_id: (key, position, row)
        for position, (key, row) in enumerate((key, row) for key, rows in blocks.items() for row in rows)
    }
    stale = []
    for entry in selects_list.entries.all():
        if entry.select_id in wanted and wanted[entry.select_id][:2] == (entry.section_id, entry.position):
            del wanted[entry.select_id]
        else:
            stale.append(entry.id)
    for start in range(0, len(stale), 500):
        ListEntry.objects.filter(id__in=stale[start : start + 500]).delete()
    ListEntry.objects.bulk_create(
        [
            ListEntry(
                list=selects_list,
                select_id=select_id,
                section_id=key,
                position=position,
                in_frame=row.in_frame,
                out_frame=row.out_frame,
            )
            for select_id, (key, position, row) in wanted.items()
        ],
        batch_size=500,
    )
    for position, key in enumerate(key for key in blocks if key is not None):
        ListSection.objects.filter(id=key).exclude(position=position).update(position=position)
