"""Carrying a select to the other angles of its moment."""

import uuid
from collections.abc import Iterable

from django.db import transaction

from review import roles
from review.crew import access
from review.marking import selecting
from review.models import Person, Select
from review.record import angles
from review.refusals import Refusal

_CARRIED = uuid.UUID("5a0b7d62-57b5-4f0a-8a4e-3f1d5a8c2be1")  # so that carrying twice is carrying once


def carry(person: Person, select: Select, to: Iterable[int] | None = None) -> list[Select]:
    """Carry a select to the other angles of its moment (or to those whose clip ids are given), linked to it. One that
    was carried there before is left as it is. Returns those that are there now."""
    access.require(person, select.clip.card.production, roles.MARK)
    if select.deleted:
        raise Refusal("This select is deleted; bring it back before it is carried to other angles.", "select")
    wanted = None if to is None else set(to)
    carried = []
    with transaction.atomic():
        for angle in angles.of(select.clip, select.in_frame, select.out_frame):
            if wanted is None or angle.clip.id in wanted:
                carried.append(_carry_to(person, select, angle))
    return carried


def _carry_to(person: Person, select: Select, angle: angles.Angle) -> Select:
    made_id = uuid.uuid5(_CARRIED, f"{select.id} {angle.clip.id}")
    if there := Select.objects.filter(id=made_id, deleted=None).first():
        return there
    before = Select.objects.filter(id=made_id).first()
    tags = tuple(tag.name for tag in select.tags.all())
    mark = selecting.Mark(angle.in_frame, angle.out_frame, tags, select.note, select.rating)
    version = before.version if before else 0
    made = selecting.put(person, made_id, angle.clip, mark, version, marked="carried to another angle")
    Select.objects.filter(id=made.id).update(carried_from=select)
    made.carried_from = select
    return made
